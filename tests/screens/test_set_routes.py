"""The routes of teaching sets: pictures, bundles and sheets for whoever may have them now, and nothing for anyone else."""

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from own_loop import run_beside
from set_scene import KEY, POINTS, picture
from starlette.applications import Starlette

from records import teaching_sets as sets
from records.bundles import make_bundle
from records.consent.consents import DollDeclaration
from records.consent.withdrawal import remove_photo
from records.identity import accounts, sessions
from records.identity.people import Person, Role, add_person
from records.key.reference_keys import write_key
from records.photo.photos import add_photo
from records.store import Store
from screens import data
from screens.door.cookies import SESSION
from screens.sets import pictures as set_pictures
from screens.sets.routes import set_routes
from vision.images import read_photo


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("LATCH_AND_LINE_DATA", str(tmp_path / "data"))
    data._opened.cache_clear()
    yield
    data.store().close()
    data._opened.cache_clear()


@pytest.fixture
def educator() -> tuple[Person, str]:
    """Whoever made the first account, and the token of their browser."""
    signed = accounts.first_account(data.store(), handle="Heron", password="quiet river stones")
    return signed.person, signed.token


def token_of(store: Store, role: Role) -> str:
    """The browser of somebody in one role."""
    with store.writing() as session:
        person = add_person(store, session, f"a {role}", frozenset({role}))
        return sessions.begin_session(store, session, person.id)


def get(path: str, token: str | None) -> httpx.Response:
    """What a browser with that token is sent."""

    async def ask() -> httpx.Response:
        app = Starlette(routes=set_routes())
        headers = {"cookie": f"{SESSION}={token}"} if token else {}
        async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://localhost") as client:
            return await client.get(path, headers=headers)

    return run_beside(ask())


def published(person: Person) -> sets.VersionRecord:
    store, jpeg = data.store(), picture(1)
    photo = add_photo(
        store,
        person,
        jpeg=jpeg,
        screen_jpeg=jpeg,
        width=800,
        height=600,
        title="Doll 1",
        consent=DollDeclaration(confirmed=True),
    )
    write_key(store, person, photo.id, KEY, POINTS, expected_revision=0)
    draft = sets.new_set(store, person, "First looks").draft
    assert draft is not None
    version = sets.add_photos(store, person, draft.id, [photo.id], expected_revision=1)
    return sets.publish(store, person, version.id, expected_revision=version.revision, checklist_version="1")


def addresses(person: Person, version: sets.VersionRecord) -> dict[str, str]:
    photo_id = version.photos[0].photo_id
    made = make_bundle(data.store(), person, version.id, to_whom="Linden Room")
    return {
        "image/jpeg": f"/set-photos/{photo_id}/screen.jpg",
        "thumbnail": f"/set-photos/{photo_id}/thumbnail.jpg",
        "application/zip": f"/set-bundles/{made.id}/teaching-set.zip",
        "application/pdf": f"/set-worksheets/{version.id}/key.pdf",
    }


def test_an_educator_gets_pictures_bundle_and_sheet_and_nothing_may_be_kept_on_the_way(
    educator: tuple[Person, str],
) -> None:
    person, token = educator
    for kind, path in addresses(person, published(person)).items():
        answer = get(path, token)
        assert answer.status_code == 200
        assert answer.headers["content-type"] == kind.replace("thumbnail", "image/jpeg")
        assert answer.headers["cache-control"] == "private, no-store"
        if kind == "application/zip":
            assert 'filename="teaching-set.zip"' in answer.headers["content-disposition"]
            assert "manifest.json" in zipfile.ZipFile(io.BytesIO(answer.content)).namelist()
        elif kind == "application/pdf":
            assert answer.content.startswith(b"%PDF-")
        else:
            assert read_photo(answer.content).width == (400 if kind == "thumbnail" else 800)


def test_nobody_gets_anything_without_a_session_or_after_signing_out(educator: tuple[Person, str]) -> None:
    person, token = educator
    paths = addresses(person, published(person))
    sessions.sign_out(data.store(), token)
    for path in paths.values():
        for bearer in (None, "nonsense", token):
            assert get(path, bearer).status_code == 401


def test_a_student_gets_nothing_of_a_set_and_an_instructor_its_pictures_only(educator: tuple[Person, str]) -> None:
    person, _ = educator
    paths = addresses(person, published(person))
    student, instructor = (token_of(data.store(), role) for role in (Role.STUDENT, Role.INSTRUCTOR))
    assert {kind: get(path, student).status_code for kind, path in paths.items()} == dict.fromkeys(paths, 404)
    assert {kind: get(path, instructor).status_code for kind, path in paths.items()} == {
        "image/jpeg": 200,
        "thumbnail": 200,
        "application/zip": 404,
        "application/pdf": 404,
    }


def test_a_removed_photo_is_gone_from_every_address_at_once(educator: tuple[Person, str]) -> None:
    person, token = educator
    version = published(person)
    paths = addresses(person, version)
    remove_photo(data.store(), person, str(version.photos[0].photo_id))
    answers = {kind: get(path, token).status_code for kind, path in paths.items()}
    assert answers == dict.fromkeys(paths, 404)


def test_an_upload_that_waits_is_shown_to_its_own_person_only(educator: tuple[Person, str]) -> None:
    person, token = educator
    waiting = set_pictures.keep(person, picture(2))
    assert get(f"/set-uploads/{waiting}/picture.jpg", token).status_code == 200
    assert get(f"/set-uploads/{waiting}/picture.jpg", token_of(data.store(), Role.EDUCATOR)).status_code == 404
    assert get(f"/set-uploads/{waiting}/picture.jpg", None).status_code == 401
    set_pictures.forget(waiting)
    assert get(f"/set-uploads/{waiting}/picture.jpg", token).status_code == 404


@pytest.mark.parametrize(
    "path",
    ["/set-photos/{0}/screen.jpg", "/set-bundles/{0}/teaching-set.zip", "/set-worksheets/{0}/blank.pdf"],
)
def test_a_guessed_address_is_answered_as_one_that_is_not_yours(educator: tuple[Person, str], path: str) -> None:
    answer = get(path.format("0" * 32), educator[1])
    assert (answer.status_code, answer.text) == (404, "This is not available.")
