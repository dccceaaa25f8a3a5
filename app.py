"""Start of the program: `streamlit run app.py`.

Before anything heavy is imported, this file says in one sentence what a machine lacks. Then it serves the screens
together with the program's own routes, through which every photo goes (`screens.photo_routes`).
"""

import sys

from vision.machine import what_this_machine_lacks

lacking = what_this_machine_lacks()
if lacking:
    sys.exit(lacking)

import streamlit as st  # noqa: E402  (the check above must come first)

from screens import header  # noqa: E402
from screens.door.middleware import DoorMiddleware  # noqa: E402
from screens.door.routes import door_routes  # noqa: E402
from screens.guide.routes import guide_routes  # noqa: E402
from screens.ledger.routes import ledger_routes  # noqa: E402
from screens.photo_routes import photo_routes  # noqa: E402
from screens.review.report_routes import report_routes  # noqa: E402
from screens.sets.routes import set_routes  # noqa: E402
from screens.warming import warm_up_beside  # noqa: E402

app = st.App(
    "screens/main.py",
    routes=[*photo_routes(), *set_routes(), *report_routes(), *ledger_routes(), *door_routes(), *guide_routes()],
    middleware=[DoorMiddleware.entry()],
    on_script_error=header.on_script_error,
)
warm_up_beside()

if __name__ == "__main__":
    app.run()
