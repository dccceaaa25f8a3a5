"""The routes of reports, each made at the moment it is asked for, for whoever may see it then."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from records.errors import NotFound
from records.identity.people import Person
from rubric.checklist import shipped_checklist
from rubric.reports import Report, class_report, report_csv, report_pdf, report_xlsx, student_report
from screens import look
from screens.data import store
from screens.language import SOURCE_LANGUAGE, _, current, spoken
from screens.photo_routes import guarded
from screens.progress.own_work import ME, own_entries, own_plan, own_review, photo_titles
from screens.review.work import reviewed, reviewed_to_report
from screens.sets.figures import report_on_set


def _pdf(report: Report) -> bytes:
    return report_pdf(report, say=_, language=current())


#: The PDF is for people and speaks the language of whoever asks; the tables are for programs and stay English.
_KINDS: Mapping[str, tuple[str, Callable[[Report], bytes]]] = MappingProxyType(
    {
        "pdf": ("application/pdf", _pdf),
        "xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", report_xlsx),
        "csv": ("text/csv; charset=utf-8", report_csv),
    }
)


async def _class(request: Request) -> Response:
    work_id, named = request.path_params["work_id"], "names" in request.query_params
    return await _answer(request, "class", lambda person: report_on_class(person, work_id, named=named))


async def _answer(request: Request, what: str, make: Callable[[Person], Report]) -> Response:
    ending = request.path_params["ending"]
    if ending not in _KINDS:
        return Response(status_code=404)
    kind, written = _KINDS[ending]

    def answered(person: Person) -> bytes:
        with spoken(current() if ending == "pdf" else SOURCE_LANGUAGE):
            return written(make(person))

    return await guarded(request, answered, kind=kind, download=f"{what}-report.{ending}")


def report_on_class(person: Person, work_id: str, *, named: bool) -> Report:
    """The report on what a class handed in; students as the page calls them, named where asked for. Raises RecordsError."""
    checklist = shipped_checklist()
    made = reviewed_to_report if named else reviewed
    work = made(store(), person, work_id, checklist)
    return class_report(
        work.review,
        checklist,
        title=f"{work.answers.class_title}: {work.assignment.title}",
        made_on=store().today(),
        photo_names={photo: work.photo_name(photo) for photo in work.slots},
        student_names={one.label: work.student_name(one.label) for one in work.answers.students},
    )


async def _mine(request: Request) -> Response:
    return await _answer(request, "my-practice", report_on_own_work)


def report_on_own_work(person: Person) -> Report:
    """The person's own figures beside the keys that may be seen, and what to practise next. Raises RecordsError."""
    checklist = shipped_checklist()
    entries = own_entries(store(), person)
    found = own_review(entries, checklist)
    if found is None:
        raise NotFound(_("Nothing is handed in yet whose key may be seen."))
    review, names = found
    return student_report(
        review,
        ME,
        checklist,
        title=_("My practice"),
        made_on=store().today(),
        photo_names={**photo_titles(store(), person), **names},
        plan=own_plan(store(), person, entries, checklist),
    )


async def _set(request: Request) -> Response:
    version_id = request.path_params["version_id"]
    return await _answer(request, "set", lambda person: report_on_set(store(), person, version_id, shipped_checklist()))


def report_routes() -> list[Route]:
    """The routes as `st.App` takes them."""
    return [
        Route("/reports/class/{work_id}/report.{ending}", _class),
        Route("/reports/mine/report.{ending}", _mine),
        Route("/reports/set/{version_id}/report.{ending}", _set),
    ]


def offer(path: str) -> None:
    """The three links to a report, by its address without the ending."""
    for ending, words in (("pdf", "PDF"), ("xlsx", _("spreadsheet (XLSX)")), ("csv", _("text table (CSV)"))):
        look.download(path.replace("{ending}", ending), _("Save as {format}").format(format=words))
