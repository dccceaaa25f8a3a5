"""A cover as the cover editor's browser sends it, for those who send odd ones."""

COVER = {
    "from": None,
    "kind": "name",
    "shape": "rectangle",
    "x": 80,
    "y": 60,
    "w": 40,
    "h": 20,
    "turn": 0,
    "open": False,
}
