"""A visitor who does not keep to the page: sends what no page of ours would send, over the protocol of the pages."""

import re
import time
from dataclasses import dataclass
from typing import Any

import httpx
from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import connect

from tests.journeys.people import PASSWORD
from tests.talking import TalkingPage, put_value


@dataclass
class ForgingPage(TalkingPage):
    """A page whose widgets, page and query the visitor writes by hand; `session_id` is what Streamlit calls it."""

    session_id: str = ""

    def sign_in(self, handle: str, password: str = PASSWORD) -> "ForgingPage":
        """Sign in with an account that is there."""
        answer = send_form(self.client, self.address, "/sign-in", handle=handle, password=password)
        assert answer.status_code == 200, answer.text
        return self

    def forge(
        self,
        widgets: dict[str, tuple[str, Any]] | None = None,
        *,
        fragment: str = "",
        page_hash: str | None = None,
        query: str | None = None,
    ) -> None:
        """Ask for a run with these widget values (id -> field of WidgetState and value), whatever the page shows."""
        message = BackMsg()
        run = message.rerun_script
        run.query_string = self.query if query is None else query
        run.page_script_hash = self.page_hash if page_hash is None else page_hash
        run.page_name, run.fragment_id = self.page, fragment
        for name, (kind, value) in {**self.values, **(widgets or {})}.items():
            state = run.widget_states.widgets.add()
            state.id = name
            put_value(state, kind, value)
        self.send_raw(message.SerializeToString())
        self._listen()

    def send_raw(self, body: bytes) -> None:
        """Send any bytes over the socket."""
        assert self.socket is not None
        self.socket.send(body)

    def take_up(self, other: "ForgingPage") -> None:
        """Leave, and come back to the same session of Streamlit with the cookies of someone else."""
        assert self.socket is not None
        self.socket.close()
        time.sleep(1)
        cookies = "; ".join(f"{name}={value}" for name, value in other.client.cookies.items())
        self.socket = connect(
            self.address.replace("http", "ws", 1) + "/_stcore/stream",
            subprotocols=["streamlit", "none", self.session_id],  # type: ignore[list-item]
            additional_headers={"Cookie": cookies},
            origin=self.address,  # type: ignore[arg-type]
            max_size=None,
        )

    def _listen(self) -> None:
        socket = self.socket
        assert socket is not None
        receive = socket.recv

        def noted(**options: Any) -> Any:
            body = receive(**options)
            message = ForwardMsg()
            message.ParseFromString(body)
            if message.WhichOneof("type") == "new_session":
                self.session_id = message.new_session.initialize.session_id
            return body

        socket.recv = noted  # type: ignore[method-assign]
        try:
            super()._listen()
        finally:
            socket.recv = receive  # type: ignore[method-assign]

    def everything(self) -> str:
        """All that the page was sent, as text, without the address that the visitor typed and that forms lead back to."""
        sent = "\n".join(str(element) for element in self.elements.values())
        return re.sub(r'name=\\*"back\\*" value=\\*"[^"\\]*', "", sent)

    def alerts(self) -> str:
        """What the page says went wrong, and takes it away; no exception may be among it."""
        said, self.errors = self.errors, []
        return "\n".join(said)


def send_form(client: httpx.Client, address: str, path: str, look_at: str = "", **fields: str) -> httpx.Response:
    """Open a door page and send its form as a browser does."""
    shown = client.get(look_at or path)
    token = re.search(r'name="form_token" value="([^"]+)"', shown.text)
    assert token, shown.text[:400]
    return client.post(path, data={"form_token": token[1], **fields}, headers={"Origin": address})


def put(page: ForgingPage, body: bytes, session_id: str = "", name: str = "a-file") -> httpx.Response:
    """Send a file as Streamlit's own page does."""
    page.client.get("/_stcore/health")
    return page.client.put(
        f"/_stcore/upload_file/{session_id or page.session_id}/{name}",
        files={"file": ("photo.jpg", body, "image/jpeg")},
        headers={"X-Xsrftoken": page.client.cookies["_streamlit_xsrf"]},
    )


def editor_of(page: ForgingPage) -> Any:
    """The landmark editor that the page shows."""
    return next(one for one in page.shows("bidi_component") if "points-" in one.id)


def point(x: object, y: object, **more: object) -> dict[str, object]:
    """A point as the landmark editor sends it."""
    return {"x": x, "y": y, "v": 2, "by": "student", **more}
