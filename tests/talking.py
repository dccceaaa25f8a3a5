"""A page of the program without a browser: speaks Streamlit's own protocol, so that thirty fit on two cores.

It loads the page's cookie, opens the socket that a browser would open, asks for a run of the script, presses buttons
and chooses answers by their label, and tells how long each answer took.
"""

import ssl
import time
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import parse_qs, urlencode

import httpx
from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import ClientConnection, connect


def put_value(state: Any, kind: str, value: Any) -> None:
    """Fill in a widget's state; a list or a message of the protocol goes into the message that is there."""
    if isinstance(value, list):
        getattr(state, kind).data.extend(value)
    elif hasattr(value, "SerializeToString"):
        getattr(state, kind).CopyFrom(value)
    else:
        setattr(state, kind, value)


@dataclass
class TalkingPage:
    """One page of one visitor; `took` holds the seconds of each answer, `errors` what the page said went wrong."""

    address: str
    client: httpx.Client
    tls: ssl.SSLContext | None = None
    socket: ClientConnection | None = None
    page_hashes: dict[str, str] = field(default_factory=dict)
    page_hash: str = ""
    page: str = ""
    query: str = ""
    elements: dict[tuple[int, ...], Any] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)
    fragments: dict[str, str] = field(default_factory=dict)
    took: list[float] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    @classmethod
    def of(cls, address: str, tls: ssl.SSLContext | None = None) -> "TalkingPage":
        """A visitor who has no cookie yet; `tls` is what an address with https is checked by."""
        client = httpx.Client(base_url=address, follow_redirects=True, timeout=60, verify=True if tls is None else tls)
        return cls(address=address, client=client, tls=tls)

    def open(self, page: str = "", **query: str) -> None:
        """Load the page as after typing its address."""
        self.client.get(f"/{page}").raise_for_status()
        if self.socket is not None:
            self.socket.close()
        cookies = "; ".join(f"{name}={value}" for name, value in self.client.cookies.items())
        self.socket = connect(
            self.address.replace("http", "ws", 1) + "/_stcore/stream",
            subprotocols=["streamlit"],  # type: ignore[list-item]
            additional_headers={"Cookie": cookies},
            origin=self.address,  # type: ignore[arg-type]
            max_size=None,
            open_timeout=60,
            ssl=self.tls,
        )
        self.elements.clear()
        self.values.clear()
        self.page, self.query, self.page_hash = page, urlencode(query), self.page_hashes.get(page, "")
        self._run()

    def choose(self, label: str, option: str) -> None:
        """Choose one option of a radio group."""
        found = self._labelled("radio", label)
        if option not in found.options:
            raise LookupError(f"no option {option!r} of {label!r}, there are {list(found.options)}")
        self.values[found.id] = ("string_value", option)
        self._run(fragment=self.fragments.get(found.id, ""))

    def press(self, label: str) -> None:
        """Press a button."""
        found = self._labelled("button", label)
        self._run(pressed=found.id, fragment=self.fragments.get(found.id, ""))

    def shows(self, kind: str) -> list[Any]:
        """All elements of a kind that stand on the page."""
        return [getattr(e, kind) for e in self.elements.values() if e.WhichOneof("type") == kind]

    def labels(self, kind: str) -> list[str]:
        """The labels of all elements of a kind."""
        return [found.label for found in self.shows(kind)]

    def close(self) -> None:
        """Leave."""
        if self.socket is not None:
            self.socket.close()
        self.client.close()

    def _labelled(self, kind: str, label: str) -> Any:
        for found in self.shows(kind):
            if found.label == label or found.label.startswith(label):
                return found
        raise LookupError(f"no {kind} {label!r} on /{self.page}, there are {self.labels(kind)}")

    def _run(self, pressed: str | None = None, fragment: str = "") -> None:
        assert self.socket is not None
        message = BackMsg()
        run = message.rerun_script
        run.query_string, run.page_name, run.fragment_id = self.query, self.page, fragment
        run.page_script_hash = self.page_hash
        for name, (kind, value) in self.values.items():
            state = run.widget_states.widgets.add()
            state.id = name
            put_value(state, kind, value)
        if pressed is not None:
            state = run.widget_states.widgets.add()
            state.id, state.trigger_value = pressed, True
        started = time.perf_counter()
        self.socket.send(message.SerializeToString())
        self._listen()
        self.took.append(time.perf_counter() - started)

    def _listen(self) -> None:
        assert self.socket is not None
        fresh: dict[tuple[int, ...], Any] = {}
        while True:
            message = ForwardMsg()
            message.ParseFromString(self.socket.recv(timeout=120))
            kind = message.WhichOneof("type")
            if kind == "delta" and message.delta.WhichOneof("type") == "new_element":
                self._keep(message, fresh)
            elif kind == "navigation":
                pages = message.navigation.app_pages
                self.page_hashes.update({one.url_pathname: one.page_script_hash for one in pages})
                # Another page than was asked for, where a button led there.
                self.page_hash = message.navigation.page_script_hash
            elif kind == "page_info_changed":
                self.query = message.page_info_changed.query_string
            elif kind == "script_finished":
                done = ForwardMsg.ScriptFinishedStatus.Name(message.script_finished)
                if done in ("FINISHED_SUCCESSFULLY", "FINISHED_WITH_COMPILE_ERROR"):
                    self.elements = fresh
                if done == "FINISHED_EARLY_FOR_RERUN":
                    fresh = {}
                    continue
                if done == "FINISHED_FRAGMENT_RUN_SUCCESSFULLY":
                    self.elements |= fresh
                return

    def _keep(self, message: ForwardMsg, fresh: dict[tuple[int, ...], Any]) -> None:
        element = message.delta.new_element
        fresh[tuple(message.metadata.delta_path)] = element
        kind = element.WhichOneof("type")
        inside = getattr(element, kind)
        if kind == "exception":
            self.errors.append(f"{inside.type}: {inside.message}")
        if kind == "alert" and inside.format == inside.ERROR:
            self.errors.append(inside.body)
        if hasattr(inside, "id") and message.delta.fragment_id:
            self.fragments[inside.id] = message.delta.fragment_id

    @property
    def asked(self) -> dict[str, list[str]]:
        """What stands behind the question mark of the page's address."""
        return parse_qs(self.query)
