"""What a page sends over its socket, looked at before Streamlit sees it.

Streamlit keeps what an editor's browser sends as text and reads it at every run. Text that it cannot read (no JSON, a number
of thousands of digits, thousands of brackets) would stop each later run too, until the page is loaded anew. An editor of ours
sends none of it; where it came all the same, the editor is handed something that it refuses in one sentence.
"""

import json

from google.protobuf.message import DecodeError  # type: ignore[import-untyped]
from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.WidgetStates_pb2 import WidgetState
from streamlit.runtime.runtime_util import get_max_widget_state_size_bytes

#: An editor with all covers or pins that it takes sends some ten thousand characters, four levels deep.
MAX_CHARACTERS, MAX_DEPTH = 262_144, 16
#: In a text that begins with one: no sentence that a person types has as many.
MAX_BRACKETS = 500
#: What takes the place of text that cannot be read: an edit of a kind that every editor names and leaves out.
UNREADABLE = json.dumps({"edit": "unreadable"})
_FIELDS = ("json_value", "json_trigger_value")


def readable(body: bytes) -> bytes:
    """The message, with `UNREADABLE` in place of what a page's parts sent as JSON and is none.

    What is no message of Streamlit's at all, or longer than one may be, is left to Streamlit, which drops it or hangs up.
    """
    if len(body) > get_max_widget_state_size_bytes():
        return body
    message = BackMsg()
    try:
        message.ParseFromString(body)
    except DecodeError:
        return body
    unreadable = [one for one in message.rerun_script.widget_states.widgets if not _is_readable(one)]
    if not unreadable:
        return body
    for state in unreadable:
        state.json_value = UNREADABLE
    return bytes(message.SerializeToString())


def _is_readable(state: WidgetState) -> bool:
    kind = state.WhichOneof("value")
    if kind == "string_value":
        # Streamlit reads an editor's value as JSON also where it comes as plain text; that it is none does no harm there.
        text = state.string_value
        return not text.startswith(("[", "{")) or text.count("[") + text.count("{") <= MAX_BRACKETS
    return kind not in _FIELDS or is_readable(getattr(state, kind))


def is_readable(text: str) -> bool:
    """Whether this is JSON of a size and depth that an editor might send.

    Examples
    --------
    >>> [is_readable(text) for text in ('{"edit": null}', "{", "[" * 50_000, "1" * 5_000, "[" * 20 + "]" * 20)]
    [True, False, False, False, False]
    """
    if len(text) > MAX_CHARACTERS:
        return False
    try:
        return _depth_within(json.loads(text), MAX_DEPTH)
    except (ValueError, RecursionError):
        return False


def _depth_within(value: object, left: int) -> bool:
    inside = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return left >= 0 and all(_depth_within(one, left - 1) for one in inside)
