"""Joining a class by a code, and people whom the school's own system vouches for."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_scene import Scene, is_one_sentence
from sqlalchemy import select
from test_accounts_of_others import class_of

from records.errors import InvalidRecord, NotAllowed, NotFound, RecordsError, SignInRefused, TooManyTries
from records.identity import accounts, identities, join_codes, joining, limits
from records.identity.identities import Identity, Newcomer
from records.identity.people import Person, Role
from records.identity.sessions import SignedIn, person_for_token
from records.models import ClassRow, JoinCodeRow, MemberRow, PersonRow

PASSWORD = "quiet river stones"
WHO = Identity(issuer="https://id.example", subject="f3b1")


@pytest.fixture
def robin(scene: Scene) -> Person:
    """The instructor of a class."""
    return accounts.first_account(scene.store, handle="robin", password=PASSWORD).person


def code_for(scene: Scene, robin: Person, **how: int) -> tuple[str, str]:
    class_id = class_of(scene, robin)
    return class_id, join_codes.make_join_code(scene.store, robin, class_id, **how).code


def newcomer(scene: Scene, code: str, handle: str = "wren", where: str = "10.0.0.1") -> SignedIn:
    return joining.join_with_new_account(scene.store, code=code, handle=handle, password=PASSWORD, from_where=where)


def part_of(scene: Scene, class_id: str, person: Person) -> str | None:
    with scene.store.reading() as session:
        row = session.get(MemberRow, (class_id, person.id))
        return row.part if row is not None and row.left_at is None else None


def test_a_code_is_readable_once_and_only_its_hash_is_kept(scene: Scene, robin: Person) -> None:
    class_id = class_of(scene, robin)
    made = join_codes.make_join_code(scene.store, robin, class_id)
    plain = made.code.replace("-", "")
    assert len(plain) == 8
    assert not set(plain) & set("01ilo")
    assert made.ends_at == scene.clock() + timedelta(days=14)
    assert plain.encode() not in scene.bytes_on_disk()
    assert made.code not in repr(made)
    [kept] = join_codes.open_codes(scene.store, robin, class_id)
    assert (kept.id, kept.ends_at) == (made.id, made.ends_at)


def test_a_newcomer_gets_an_account_as_a_student_and_is_in_the_class(scene: Scene, robin: Person) -> None:
    class_id, code = code_for(scene, robin)
    signed_in = newcomer(scene, code)
    assert signed_in.person.roles == {Role.STUDENT}
    assert not signed_in.must_change
    assert person_for_token(scene.store, signed_in.token) == signed_in.person
    assert part_of(scene, class_id, signed_in.person) == "student"
    assert accounts.sign_in(scene.store, handle="wren", password=PASSWORD, from_where="10.0.0.1")


@pytest.mark.parametrize("spelling", [str.upper, lambda code: code.replace("-", ""), lambda code: f" {code} "])
def test_a_code_may_be_typed_in_capitals_and_without_the_hyphen(scene: Scene, robin: Person, spelling) -> None:  # type: ignore[no-untyped-def]
    class_id, code = code_for(scene, robin)
    person = newcomer(scene, spelling(code)).person
    assert part_of(scene, class_id, person) == "student"


def test_someone_signed_in_joins_at_once_and_joining_twice_changes_nothing(scene: Scene, robin: Person) -> None:
    class_id, code = code_for(scene, robin)
    wren, _ = accounts.make_account(scene.store, robin, handle="wren", roles=frozenset({Role.STUDENT}))
    assert joining.join_class(scene.store, wren, code).class_id == class_id
    assert joining.join_class(scene.store, wren, code).title == "Linden Room"
    assert part_of(scene, class_id, wren) == "student"


def test_the_instructor_does_not_become_a_student_by_an_own_code(scene: Scene, robin: Person) -> None:
    class_id, code = code_for(scene, robin)
    joining.join_class(scene.store, robin, code)
    assert part_of(scene, class_id, robin) == "instructor"


def test_whoever_left_may_come_back_with_a_code(scene: Scene, robin: Person) -> None:
    class_id, code = code_for(scene, robin)
    wren = newcomer(scene, code).person
    with scene.store.writing() as session:
        session.get_one(MemberRow, (class_id, wren.id)).left_at = scene.store.now()
    assert part_of(scene, class_id, wren) is None
    joining.join_class(scene.store, wren, code)
    assert part_of(scene, class_id, wren) == "student"


def test_a_code_ends_by_itself_and_by_its_instructor(scene: Scene, robin: Person) -> None:
    _, code = code_for(scene, robin, days=3)
    class_id, other = code_for(scene, robin)
    [kept] = join_codes.open_codes(scene.store, robin, class_id)
    join_codes.end_join_code(scene.store, robin, kept.id)
    with pytest.raises(SignInRefused) as refused:
        newcomer(scene, other)
    assert is_one_sentence(refused.value)
    assert join_codes.open_codes(scene.store, robin, class_id) == ()
    scene.clock.turn(days=3, seconds=1)
    with pytest.raises(SignInRefused):
        newcomer(scene, code)


@pytest.mark.parametrize("end", ["kept too long", "erased"])
def test_a_class_that_is_over_takes_nobody_in(scene: Scene, robin: Person, end: str) -> None:
    class_id, code = code_for(scene, robin)
    with scene.store.writing() as session:
        row = session.get_one(ClassRow, class_id)
        if end == "erased":
            row.erased_at = scene.store.now()
        else:
            row.keep_until = date(2030, 3, 1)
    with pytest.raises(SignInRefused):
        newcomer(scene, code)


@pytest.mark.usefixtures("robin")
def test_a_wrong_code_makes_nobody_and_does_not_tell_which_names_are_taken(scene: Scene) -> None:
    for handle in ("robin", "wren"):
        with pytest.raises(SignInRefused):
            newcomer(scene, "abcd-efgh", handle)
    with scene.store.reading() as session:
        assert set(session.scalars(select(PersonRow.handle))) == {"robin", "this computer"}


@pytest.mark.parametrize(("handle", "password"), [("robin", PASSWORD), ("x", PASSWORD), ("wren", "short")])
def test_a_name_or_password_that_cannot_be_taken_leaves_nothing_behind(
    scene: Scene, robin: Person, handle: str, password: str
) -> None:
    class_id, code = code_for(scene, robin)
    with pytest.raises(InvalidRecord):
        joining.join_with_new_account(scene.store, code=code, handle=handle, password=password, from_where="here")
    with scene.store.reading() as session:
        assert len(session.scalars(select(MemberRow).where(MemberRow.class_id == class_id)).all()) == 1


def test_guessing_codes_ends_soon(scene: Scene, robin: Person) -> None:
    _, code = code_for(scene, robin)
    wren, _ = accounts.make_account(scene.store, robin, handle="wren", roles=frozenset({Role.STUDENT}))
    for _ in range(5):
        with pytest.raises(SignInRefused):
            joining.join_class(scene.store, wren, "abcd-efgh")
    with pytest.raises(TooManyTries):
        joining.join_class(scene.store, wren, code)
    for _ in range(limits.by_address("10.0.0.1").free):
        with pytest.raises(SignInRefused):
            newcomer(scene, "abcd-efgh")
    with pytest.raises(TooManyTries):
        newcomer(scene, code)
    assert newcomer(scene, code, "owl", where="10.0.0.2")


def test_a_code_is_made_and_ended_by_an_instructor_of_the_class_only(scene: Scene, robin: Person) -> None:
    class_id, _ = code_for(scene, robin)
    [kept] = join_codes.open_codes(scene.store, robin, class_id)
    both = frozenset({Role.INSTRUCTOR, Role.STUDENT})
    finch, _ = accounts.make_account(scene.store, robin, handle="finch", roles=both)
    wren, _ = accounts.make_account(scene.store, robin, handle="wren", roles=frozenset({Role.STUDENT}))
    for person in (finch, wren):
        for act in (
            lambda who: join_codes.make_join_code(scene.store, who, class_id),
            lambda who: join_codes.open_codes(scene.store, who, class_id),
            lambda who: join_codes.end_join_code(scene.store, who, kept.id),
        ):
            with pytest.raises(NotAllowed):
                act(person)
    with pytest.raises(NotFound):
        join_codes.make_join_code(scene.store, robin, "0" * 32)
    with pytest.raises(InvalidRecord):
        join_codes.make_join_code(scene.store, robin, class_id, days=61)


def test_where_nobody_has_an_account_a_code_makes_none(scene: Scene) -> None:
    # Else the first student would close the program to whoever works alone at this computer.
    class_id = class_of(scene, scene.person)
    code = join_codes.make_join_code(scene.store, scene.person, class_id).code
    with pytest.raises(SignInRefused):
        newcomer(scene, code)
    assert not accounts.has_accounts(scene.store)


@given(st.text(max_size=30))
def test_no_text_that_people_type_breaks_the_look_up(text: str) -> None:
    assert len(join_codes.code_sha256(text)) == 64


def test_codes_differ(scene: Scene, robin: Person) -> None:
    class_id = class_of(scene, robin)
    codes = {join_codes.make_join_code(scene.store, robin, class_id).code for _ in range(20)}
    assert len(codes) == 20
    with scene.store.reading() as session:
        assert len(set(session.scalars(select(JoinCodeRow.code_sha256)))) == 20


def ticket_of(scene: Scene, who: Identity = WHO) -> str:
    """The ticket of a newcomer's next step."""
    came = identities.come_in(scene.store, identities.new_ticket(scene.store, who))
    assert isinstance(came, Newcomer)
    return came.ticket


def test_someone_vouched_for_joins_once_by_a_code_and_comes_in_from_then_on(scene: Scene, robin: Person) -> None:
    class_id, code = code_for(scene, robin)
    joined = identities.newcomer_joins(scene.store, ticket_of(scene), code=code, handle="wren", from_where="10.0.0.1")
    assert part_of(scene, class_id, joined.person) == "student"
    assert person_for_token(scene.store, joined.token) == joined.person
    came = identities.come_in(scene.store, identities.new_ticket(scene.store, WHO))
    assert isinstance(came, SignedIn)
    assert came.person == joined.person
    assert person_for_token(scene.store, came.token) == joined.person


def test_the_same_subject_of_another_issuer_is_someone_else(scene: Scene, robin: Person) -> None:
    _, code = code_for(scene, robin)
    identities.newcomer_joins(scene.store, ticket_of(scene), code=code, handle="wren", from_where="10.0.0.1")
    other = Identity(issuer="https://another.example", subject=WHO.subject)
    assert isinstance(identities.come_in(scene.store, identities.new_ticket(scene.store, other)), Newcomer)


def test_someone_vouched_for_is_linked_to_the_account_made_for_them(scene: Scene, robin: Person) -> None:
    made, first = accounts.make_account(scene.store, robin, handle="finch", roles=frozenset({Role.INSTRUCTOR}))
    ticket = ticket_of(scene)
    with pytest.raises(SignInRefused):
        identities.newcomer_has_account(
            scene.store, ticket, handle="finch", password="a wrong password", from_where="10.0.0.1"
        )
    linked = identities.newcomer_has_account(scene.store, ticket, handle="finch", password=first, from_where="10.0.0.1")
    assert linked.person == made
    came = identities.come_in(scene.store, identities.new_ticket(scene.store, WHO))
    assert isinstance(came, SignedIn)
    assert came.person == made


def test_a_ticket_is_good_once_and_not_for_long(scene: Scene, robin: Person) -> None:
    _, code = code_for(scene, robin)
    ticket = identities.new_ticket(scene.store, WHO)
    assert ticket.encode() not in scene.bytes_on_disk()
    assert isinstance(identities.come_in(scene.store, ticket), Newcomer)
    late = identities.new_ticket(scene.store, WHO)
    next_step = ticket_of(scene)
    scene.clock.turn(minutes=2, seconds=1)
    for old in (ticket, late, "", "unknown"):
        with pytest.raises(SignInRefused):
            identities.come_in(scene.store, old)
    identities.newcomer_joins(scene.store, next_step, code=code, handle="wren", from_where="10.0.0.1")
    with pytest.raises(SignInRefused):
        identities.newcomer_joins(scene.store, next_step, code=code, handle="owl", from_where="10.0.0.1")
    too_late = ticket_of(scene, Identity(issuer=WHO.issuer, subject="another"))
    scene.clock.turn(minutes=16)
    with pytest.raises(SignInRefused):
        identities.newcomer_joins(scene.store, too_late, code=code, handle="owl", from_where="10.0.0.1")


def test_a_newcomers_slip_of_the_keys_leaves_the_ticket_good(scene: Scene, robin: Person) -> None:
    _, code = code_for(scene, robin)
    ticket = ticket_of(scene)
    for wrong in ({"code": "abcd-efgh", "handle": "wren"}, {"code": code, "handle": "robin"}):
        with pytest.raises(RecordsError):
            identities.newcomer_joins(scene.store, ticket, from_where="10.0.0.1", **wrong)
    assert identities.newcomer_joins(scene.store, ticket, code=code, handle="wren", from_where="10.0.0.1")


def test_closing_the_account_closes_the_way_through_the_schools_system(scene: Scene, robin: Person) -> None:
    _, code = code_for(scene, robin)
    joined = identities.newcomer_joins(scene.store, ticket_of(scene), code=code, handle="wren", from_where="1")
    accounts.close_account(scene.store, robin, joined.person.id)
    assert person_for_token(scene.store, joined.token) is None
    assert isinstance(identities.come_in(scene.store, identities.new_ticket(scene.store, WHO)), Newcomer)


@pytest.mark.parametrize(("issuer", "subject"), [("", "x"), ("x", ""), ("x" * 301, "x"), ("x", "x" * 301)])
def test_an_identity_that_cannot_be_kept_whole_is_refused(issuer: str, subject: str) -> None:
    with pytest.raises(InvalidRecord):
        Identity(issuer=issuer, subject=subject)
