"""What an educator and an instructor do for others: make, reset, give and take roles, close; and what they may not."""

from datetime import date, timedelta
from secrets import token_hex

import pytest
from records_scene import Scene, is_one_sentence

from records.auditing.audit import last_entries
from records.errors import InvalidRecord, NotAllowed, NotFound, SignInRefused
from records.identity import accounts
from records.identity.people import Person, Role, local_person
from records.identity.sessions import holder, person_for_token
from records.models import ClassRow, IdentityRow, MemberRow
from records.rights import roles_of

PASSWORD = "quiet river stones"
STUDENT = frozenset({Role.STUDENT})


@pytest.fixture
def educator(scene: Scene) -> Person:
    return accounts.first_account(scene.store, handle="heron", password=PASSWORD).person


def made(scene: Scene, educator: Person, handle: str, *roles: Role) -> Person:
    return accounts.make_account(scene.store, educator, handle=handle, roles=frozenset(roles or STUDENT))[0]


def sign_in(scene: Scene, handle: str, password: str) -> accounts.SignedIn:
    return accounts.sign_in(scene.store, handle=handle, password=password, from_where="10.0.0.1")


def class_of(scene: Scene, instructor: Person, *students: Person) -> str:
    class_id = token_hex(16)
    with scene.store.writing() as session:
        session.add(
            ClassRow(
                id=class_id,
                title="Linden Room",
                made_by=instructor.id,
                made_at=scene.store.now(),
                keep_until=date(2031, 1, 1),
                erased_at=None,
            )
        )
        session.flush()
        for person, part in [(instructor, "instructor"), *((student, "student") for student in students)]:
            session.add(
                MemberRow(class_id=class_id, person_id=person.id, part=part, joined_at=scene.store.now(), left_at=None)
            )
    return class_id


def test_a_first_password_made_by_another_opens_nothing_but_its_own_change(scene: Scene, educator: Person) -> None:
    wren, first = accounts.make_account(scene.store, educator, handle="Wren", roles=STUDENT)
    signed_in = sign_in(scene, "wren", first)
    assert signed_in.must_change
    assert person_for_token(scene.store, signed_in.token) is None
    held = holder(scene.store, signed_in.token)
    assert held is not None
    assert held.person == wren
    changed = accounts.change_password(scene.store, wren, first, "another set of words")
    assert person_for_token(scene.store, changed.token) == wren
    with pytest.raises(SignInRefused):
        sign_in(scene, "wren", first)


def test_a_reset_ends_all_sessions_and_is_on_record(scene: Scene, educator: Person) -> None:
    wren, first = accounts.make_account(scene.store, educator, handle="wren", roles=STUDENT)
    signed_in = accounts.change_password(scene.store, wren, first, "another set of words")
    one_time = accounts.reset_password(scene.store, educator, wren.id)
    assert person_for_token(scene.store, signed_in.token) is None
    assert sign_in(scene, "wren", one_time).must_change
    with scene.store.reading() as session:
        entries = last_entries(session, 2)
    assert [(entry.action, entry.object_id) for entry in entries] == [("sign_in", wren.id), ("reset_password", wren.id)]


def test_an_instructor_resets_students_of_own_classes_only(scene: Scene, educator: Person) -> None:
    robin, finch = made(scene, educator, "robin", Role.INSTRUCTOR), made(scene, educator, "finch", Role.INSTRUCTOR)
    wren, owl = made(scene, educator, "wren"), made(scene, educator, "owl")
    class_of(scene, robin, wren)
    class_of(scene, finch, owl)
    assert accounts.reset_password(scene.store, robin, wren.id)
    assert [entry.handle for entry in accounts.my_students(scene.store, robin)] == ["wren"]
    for other in (owl, finch, educator, robin):
        with pytest.raises(NotAllowed):
            accounts.reset_password(scene.store, robin, other.id)
    with pytest.raises(NotAllowed):
        accounts.reset_password(scene.store, wren, owl.id)


def test_a_teacher_who_joined_a_class_as_a_student_cannot_be_taken_over_by_its_instructor(
    scene: Scene, educator: Person
) -> None:
    robin = made(scene, educator, "robin", Role.INSTRUCTOR)
    class_of(scene, robin, educator)
    with pytest.raises(NotAllowed):
        accounts.reset_password(scene.store, robin, educator.id)


def test_whoever_left_the_class_is_no_longer_the_instructors_to_reset(scene: Scene, educator: Person) -> None:
    robin, wren = made(scene, educator, "robin", Role.INSTRUCTOR), made(scene, educator, "wren")
    class_id = class_of(scene, robin, wren)
    with scene.store.writing() as session:
        session.get_one(MemberRow, (class_id, wren.id)).left_at = scene.store.now()
    with pytest.raises(NotAllowed):
        accounts.reset_password(scene.store, robin, wren.id)


def test_roles_are_given_and_taken_and_count_at_once(scene: Scene, educator: Person) -> None:
    wren = made(scene, educator, "wren")
    accounts.give_role(scene.store, educator, wren.id, Role.INSTRUCTOR)
    accounts.give_role(scene.store, educator, wren.id, Role.INSTRUCTOR)
    assert roles_of(scene.store, wren.id) == {Role.STUDENT, Role.INSTRUCTOR}
    assert accounts.my_students(scene.store, wren) == ()
    accounts.take_role(scene.store, educator, wren.id, Role.INSTRUCTOR)
    accounts.take_role(scene.store, educator, wren.id, Role.INSTRUCTOR)
    with pytest.raises(NotAllowed):
        accounts.my_students(scene.store, wren)
    with scene.store.reading() as session:
        actions = [entry.action for entry in last_entries(session, 3)]
    assert actions == ["my_students", "take_role instructor", "give_role instructor"]


def test_the_last_educator_stays(scene: Scene, educator: Person) -> None:
    with pytest.raises(InvalidRecord) as refused:
        accounts.take_role(scene.store, educator, educator.id, Role.EDUCATOR)
    assert is_one_sentence(refused.value)
    with pytest.raises(InvalidRecord):
        accounts.close_account(scene.store, educator, educator.id)
    second = made(scene, educator, "swift", Role.EDUCATOR)
    accounts.close_account(scene.store, educator, second.id)
    with pytest.raises(InvalidRecord):
        accounts.take_role(scene.store, educator, educator.id, Role.EDUCATOR)
    accounts.open_account_again(scene.store, educator, second.id)
    accounts.take_role(scene.store, educator, educator.id, Role.EDUCATOR)
    with pytest.raises(NotAllowed):
        accounts.list_people(scene.store, educator)


def test_an_educator_whom_the_schools_system_vouches_for_counts_too(scene: Scene, educator: Person) -> None:
    with scene.store.writing() as session:
        from records.identity.people import add_person

        swift = add_person(scene.store, session, "swift", frozenset({Role.EDUCATOR}))
        session.add(
            IdentityRow(issuer="https://id.example", subject="1", person_id=swift.id, linked_at=scene.store.now())
        )
    accounts.take_role(scene.store, educator, educator.id, Role.EDUCATOR)
    with pytest.raises(InvalidRecord):
        accounts.reset_password(scene.store, swift, swift.id)


def test_a_closed_account_is_out_at_once_and_can_be_opened_again(scene: Scene, educator: Person) -> None:
    wren, first = accounts.make_account(scene.store, educator, handle="wren", roles=STUDENT)
    signed_in = accounts.change_password(scene.store, wren, first, "another set of words")
    accounts.close_account(scene.store, educator, wren.id)
    assert person_for_token(scene.store, signed_in.token) is None
    with pytest.raises(SignInRefused):
        sign_in(scene, "wren", "another set of words")
    with pytest.raises(InvalidRecord):
        accounts.reset_password(scene.store, educator, wren.id)
    assert sign_in(scene, "wren", accounts.open_account_again(scene.store, educator, wren.id)).must_change
    with pytest.raises(InvalidRecord):
        accounts.open_account_again(scene.store, educator, wren.id)


def test_two_people_cannot_have_one_name(scene: Scene, educator: Person) -> None:
    made(scene, educator, "Wren")
    for handle in ("wren", " WREN ", "heron", "this computer"):
        with pytest.raises(InvalidRecord) as refused:
            made(scene, educator, handle)
        assert is_one_sentence(refused.value)


def test_whoever_works_alone_cannot_shut_the_program_to_themselves(scene: Scene) -> None:
    with pytest.raises(InvalidRecord):
        made(scene, scene.person, "wren")
    assert not accounts.has_accounts(scene.store)


def test_someone_without_a_role_is_not_made(scene: Scene, educator: Person) -> None:
    with pytest.raises(InvalidRecord):
        accounts.make_account(scene.store, educator, handle="wren", roles=frozenset())


def test_the_list_names_everyone_but_whoever_works_alone(scene: Scene, educator: Person) -> None:
    wren, first = accounts.make_account(scene.store, educator, handle="wren", roles=STUDENT)
    scene.clock.turn(days=2)
    sign_in(scene, "wren", first)
    today = scene.store.today()
    entries = accounts.list_people(scene.store, educator)
    assert [(one.handle, one.last_in, one.must_change, one.closed) for one in entries] == [
        ("heron", today - timedelta(days=2), False, False),
        ("wren", today, True, False),
    ]
    assert entries[1].id == wren.id
    assert entries[1].roles == STUDENT


def test_the_person_at_this_computer_gets_no_role_from_anyone(scene: Scene, educator: Person) -> None:
    alone = local_person(scene.store)
    for act in (
        lambda: accounts.give_role(scene.store, educator, alone.id, Role.EDUCATOR),
        lambda: accounts.close_account(scene.store, educator, alone.id),
        lambda: accounts.reset_password(scene.store, educator, alone.id),
        lambda: accounts.give_role(scene.store, educator, "0" * 32, Role.STUDENT),
    ):
        with pytest.raises(NotFound):
            act()
