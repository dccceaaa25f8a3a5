"""The first account, signing in, changing a password, and how often one may be wrong."""

import threading
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_scene import Scene, add, is_one_sentence
from sqlalchemy import select, text

from records.auditing.audit import last_entries
from records.errors import InvalidRecord, NotAllowed, RecordsError, SignInRefused, TooManyTries
from records.identity import accounts, limits, passwords
from records.identity.handles import folded, new_handle
from records.identity.people import Role, local_person
from records.identity.sessions import person_for_token
from records.models import AccountRow
from records.photo.photos import list_photos
from records.settings import Settings, change_settings, read_settings
from records.store import Store

PASSWORD = "quiet river stones"


def open_school(scene: Scene, handle: str = "Heron") -> accounts.SignedIn:
    return accounts.first_account(scene.store, handle=handle, password=PASSWORD)


def try_in(store: Store, password: str, handle: str = "heron", where: str = "10.0.0.1") -> accounts.SignedIn:
    return accounts.sign_in(store, handle=handle, password=password, from_where=where)


def test_without_an_account_one_works_alone_with_all_roles(scene: Scene) -> None:
    assert not accounts.has_accounts(scene.store)
    assert scene.person.roles == frozenset(Role)


def test_the_first_account_holds_all_roles_and_is_signed_in(scene: Scene) -> None:
    signed_in = open_school(scene)
    assert accounts.has_accounts(scene.store)
    assert signed_in.person.roles == frozenset(Role)
    assert person_for_token(scene.store, signed_in.token) == signed_in.person
    assert signed_in.token not in repr(signed_in)


def test_the_first_account_takes_over_what_was_done_at_this_computer(scene: Scene) -> None:
    photo = add(scene.store, scene.person)
    person = open_school(scene).person
    assert person.id == scene.person.id
    assert [found.id for found in list_photos(scene.store, person)] == [photo.id]


def test_whoever_works_alone_after_the_first_account_is_someone_new_who_only_practises(scene: Scene) -> None:
    add(scene.store, scene.person)
    open_school(scene)
    alone = local_person(scene.store)
    assert alone.id != scene.person.id
    assert alone.roles == {Role.STUDENT}
    assert list_photos(scene.store, alone) == ()


def test_there_is_no_second_first_account(scene: Scene) -> None:
    open_school(scene)
    with pytest.raises(NotAllowed) as refused:
        open_school(scene, "another")
    assert is_one_sentence(refused.value)


def test_once_everyone_of_a_school_is_gone_one_works_alone_and_may_open_another(scene: Scene) -> None:
    open_school(scene)
    with scene.store.writing() as session:
        for table in ("session", "account"):
            session.execute(text(f"DELETE FROM {table}"))
    assert not accounts.has_accounts(scene.store)
    signed_in = accounts.first_account(scene.store, handle="wren", password=PASSWORD, alone_open=True)
    assert signed_in.person.roles == frozenset(Role)
    assert read_settings(scene.store).alone_open
    with pytest.raises(NotAllowed):
        open_school(scene, "swift")


def test_of_many_first_accounts_at_the_same_moment_one_is_made(scene: Scene) -> None:
    done: list[str] = []

    def make(number: int) -> None:
        try:
            accounts.first_account(scene.store, handle=f"bird {number}", password=PASSWORD)
        except RecordsError as error:
            done.append(type(error).__name__)
        else:
            done.append("made")

    threads = [threading.Thread(target=make, args=(number,)) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(done) == ["NotAllowed"] * 5 + ["made"]


def test_only_an_argon2id_hash_of_the_password_is_kept(scene: Scene) -> None:
    open_school(scene)
    with scene.store.reading() as session:
        kept = session.scalars(select(AccountRow.password_hash)).one()
    # OWASP's password storage page, second of its equal choices: m=19456 (19 MiB), t=2, p=1.
    assert kept.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    assert passwords.matches(kept, PASSWORD)
    assert not passwords.matches(kept, PASSWORD + " ")
    assert PASSWORD.encode() not in scene.bytes_on_disk()


def test_a_hash_made_with_other_parameters_is_renewed_at_the_next_sign_in(scene: Scene) -> None:
    from argon2 import PasswordHasher

    open_school(scene)
    weak = PasswordHasher(time_cost=1, memory_cost=1024, parallelism=1).hash(PASSWORD)
    with scene.store.writing() as session:
        session.execute(text("UPDATE account SET password_hash = :weak"), {"weak": weak})
    try_in(scene.store, PASSWORD)
    with scene.store.reading() as session:
        assert "m=19456,t=2" in session.scalars(select(AccountRow.password_hash)).one()


@pytest.mark.parametrize("handle", ["heron", "HERON", "  Heron "])
def test_one_signs_in_with_the_handle_in_any_spelling(scene: Scene, handle: str) -> None:
    open_school(scene)
    assert try_in(scene.store, PASSWORD, handle).person.handle == "heron"


def test_unknown_name_wrong_password_and_closed_account_get_the_same_answer(scene: Scene) -> None:
    first = open_school(scene).person
    other, _ = accounts.make_account(scene.store, first, handle="wren", roles=frozenset({Role.STUDENT}))
    accounts.close_account(scene.store, first, other.id)
    said = set()
    for handle in ("heron", "nobody", "wren", "this computer", "x" * 500, ""):
        with pytest.raises(SignInRefused) as refused:
            try_in(scene.store, "a wrong password", handle, where=handle)
        said.add(str(refused.value))
    assert len(said) == 1


def test_after_five_wrong_passwords_the_waits_are_one_two_four_eight_and_fifteen_minutes(scene: Scene) -> None:
    open_school(scene)
    for number in range(5):
        with pytest.raises(SignInRefused):
            try_in(scene.store, "a wrong password", where=f"10.0.0.{number}")
    for minutes in (1, 2, 4, 8, 15, 15):
        with pytest.raises(TooManyTries) as closed:
            try_in(scene.store, PASSWORD)
        assert f" {minutes} minute" in str(closed.value)
        assert is_one_sentence(closed.value)
        scene.clock.turn(seconds=60 * minutes - 1)
        with pytest.raises(TooManyTries):
            try_in(scene.store, PASSWORD)
        scene.clock.turn(seconds=2)
        with pytest.raises(SignInRefused):
            try_in(scene.store, "a wrong password")
    scene.clock.turn(minutes=16)
    assert try_in(scene.store, PASSWORD).person.handle == "heron"
    # Whoever was right starts anew.
    for _ in range(4):
        with pytest.raises(SignInRefused):
            try_in(scene.store, "a wrong password")
    try_in(scene.store, PASSWORD)


def test_a_closed_name_does_not_close_another(scene: Scene) -> None:
    first = open_school(scene).person
    _, password = accounts.make_account(scene.store, first, handle="wren", roles=frozenset({Role.STUDENT}))
    for number in range(5):
        with pytest.raises(SignInRefused):
            try_in(scene.store, "a wrong password", where=f"10.0.0.{number}")
    assert try_in(scene.store, password, "wren").must_change


def test_guessing_many_names_from_one_address_ends_too(scene: Scene) -> None:
    open_school(scene)
    limit = limits.by_address("10.0.0.9")
    for number in range(limit.free):
        limits.begin_try(scene.store, limit, limits.by_handle(f"guess {number}"))
    with pytest.raises(TooManyTries):
        try_in(scene.store, PASSWORD, where="10.0.0.9")
    assert try_in(scene.store, PASSWORD, where="10.0.0.10")


def test_a_school_behind_one_address_mistypes_all_day_and_is_not_shut_out(scene: Scene) -> None:
    open_school(scene)
    address = limits.by_address("10.0.0.9")
    for _ in range(10):
        for _ in range(address.free - 1):
            limits.begin_try(scene.store, address)
        assert try_in(scene.store, PASSWORD, where="10.0.0.9").person.handle == "heron"
        scene.clock.turn(minutes=16)


def test_a_class_that_signs_in_rightly_from_one_address_never_waits(scene: Scene) -> None:
    open_school(scene)
    address = limits.by_address("10.0.0.9")
    for _ in range(3 * address.free):
        limits.begin_try(scene.store, address)
        limits.was_right(scene.store, lowered=(address,))
    assert try_in(scene.store, PASSWORD, where="10.0.0.9").person.handle == "heron"


def test_many_wrong_tries_at_once_get_no_further_than_one_after_the_other(scene: Scene) -> None:
    limit = limits.by_handle("heron")
    let_through: list[int] = []

    def attempt(number: int) -> None:
        try:
            limits.begin_try(scene.store, limit)
        except TooManyTries:
            return
        let_through.append(number)

    threads = [threading.Thread(target=attempt, args=(number,)) for number in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(let_through) == limit.free


def test_a_day_later_the_count_begins_anew_and_old_counts_are_dropped(scene: Scene) -> None:
    limit = limits.by_handle("heron")
    for _ in range(limit.free):
        limits.begin_try(scene.store, limit)
    scene.clock.turn(days=1, minutes=20)
    for _ in range(limit.free):
        limits.begin_try(scene.store, limit)
    scene.clock.turn(days=4)
    limits.begin_try(scene.store, limits.by_handle("wren"))
    with scene.store.reading() as session:
        assert session.scalar(text("SELECT count(*) FROM tries")) == 1


def test_neither_handles_nor_addresses_are_kept_with_the_tries(scene: Scene) -> None:
    open_school(scene)
    with pytest.raises(SignInRefused):
        try_in(scene.store, "a wrong password", "kingfisher", where="203.0.113.77")
    kept = scene.bytes_on_disk()
    assert b"kingfisher" not in kept
    assert b"203.0.113.77" not in kept


def test_changing_the_password_ends_all_sessions_but_the_new_one(scene: Scene) -> None:
    first = open_school(scene)
    second = try_in(scene.store, PASSWORD)
    changed = accounts.change_password(scene.store, first.person, PASSWORD, "another set of words")
    assert [person_for_token(scene.store, one.token) is not None for one in (first, second, changed)] == [
        False,
        False,
        True,
    ]
    with pytest.raises(SignInRefused):
        try_in(scene.store, PASSWORD)
    assert try_in(scene.store, "another set of words")


@pytest.mark.parametrize(
    ("old", "new", "error"),
    [
        ("a wrong password", "another set of words", SignInRefused),
        (PASSWORD, PASSWORD, InvalidRecord),
        (PASSWORD, "short", InvalidRecord),
        (PASSWORD, "heron heron heron", InvalidRecord),
    ],
)
def test_a_change_that_may_not_be_leaves_the_old_password(
    scene: Scene, old: str, new: str, error: type[RecordsError]
) -> None:
    first = open_school(scene)
    with pytest.raises(error):
        accounts.change_password(scene.store, first.person, old, new)
    assert person_for_token(scene.store, first.token) is not None
    assert try_in(scene.store, PASSWORD)


def test_the_old_password_cannot_be_guessed_on_the_page_that_changes_it(scene: Scene) -> None:
    first = open_school(scene)
    for _ in range(5):
        with pytest.raises(SignInRefused):
            accounts.change_password(scene.store, first.person, "a wrong password", "another set of words")
    with pytest.raises(TooManyTries):
        accounts.change_password(scene.store, first.person, PASSWORD, "another set of words")


@pytest.mark.parametrize(
    "password",
    ["", "eleven char", "x" * 201, "heronheron heron", "HeronHeronHeron", "passwordpassword", "aaaaaaaaaaaaaaa"],
)
def test_a_password_that_is_tried_first_is_refused_in_one_sentence(scene: Scene, password: str) -> None:
    with pytest.raises(InvalidRecord) as refused:
        accounts.first_account(scene.store, handle="heron", password=password)
    assert is_one_sentence(refused.value)
    assert not password or password not in str(refused.value)
    assert not accounts.has_accounts(scene.store)


@pytest.mark.parametrize("password", ["x1 y2 z3 w4 ", "ein Satz mit Ü", "🐦🐦 and a river", "q" * 100 + "wertz" * 20])
def test_no_rule_of_composition_stands_in_the_way(password: str) -> None:
    passwords.check_new(password, "heron")


@pytest.mark.parametrize("handle", ["", "a", "x" * 41, "a\u0007b", "<b>", "a\u202eb", "name@school", "this computer"])
def test_a_handle_that_would_confuse_is_refused(scene: Scene, handle: str) -> None:
    with pytest.raises(InvalidRecord) as refused:
        accounts.first_account(scene.store, handle=handle, password=PASSWORD)
    assert is_one_sentence(refused.value)


@given(st.text(max_size=60))
def test_a_handle_has_one_kept_form(handle: str) -> None:
    once = folded(handle)
    assert folded(once) == once
    assert folded(handle.upper()) == folded(folded(handle).upper())


@given(st.text(alphabet=st.characters(categories=("Ll", "Lu", "Nd")), min_size=3, max_size=12))
def test_two_spellings_of_a_handle_are_one(handle: str) -> None:
    try:
        kept = new_handle(handle)
    except InvalidRecord:
        return
    assert new_handle(f"  {handle} ") == kept
    assert new_handle(kept) == kept


@given(st.integers(min_value=0, max_value=10_000))
def test_a_wait_never_shrinks_and_never_exceeds_a_quarter_of_an_hour(more: int) -> None:
    assert limits.wait_after(more) <= limits.wait_after(more + 1) <= limits.LONGEST_WAIT


class Counting:
    """A hasher that notes how many work at once."""

    def __init__(self) -> None:
        self.now = self.most = 0
        self.lock = threading.Lock()

    def hash(self, _: str) -> str:
        with self.lock:
            self.now += 1
            self.most = max(self.most, self.now)
        time.sleep(0.02)
        with self.lock:
            self.now -= 1
        return "hash"


def test_at_most_four_hashes_are_computed_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    counting = Counting()
    monkeypatch.setattr(passwords, "_hasher", counting)
    threads = [threading.Thread(target=passwords.hashed, args=("x",)) for _ in range(16)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert counting.most == passwords.MOST_AT_ONCE


def test_a_one_time_password_may_be_a_password_and_never_comes_twice() -> None:
    made = {passwords.one_time_password() for _ in range(200)}
    assert len(made) == 200
    for one in made:
        passwords.check_new(one, "heron")
        assert not set(one) & set("0O1Il")


def test_signing_in_is_on_record_with_ids_only(scene: Scene) -> None:
    first = open_school(scene)
    try_in(scene.store, PASSWORD)
    with pytest.raises(SignInRefused):
        try_in(scene.store, "a wrong password", "nobody")
    with scene.store.reading() as session:
        refused, signed_in, made = last_entries(session, 3)
    assert (made.action, made.actor_id) == ("first_account", first.person.id)
    assert (signed_in.action, signed_in.actor_id, signed_in.outcome.value) == ("sign_in", first.person.id, "done")
    assert (refused.action, refused.actor_id, refused.object_id) == ("sign_in", None, None)


def test_settings_are_the_educators_and_two_tabs_do_not_overwrite_each_other(scene: Scene) -> None:
    first = open_school(scene).person
    now = read_settings(scene.store)
    assert now == Settings(revision=1)
    changed = change_settings(scene.store, first, Settings(alone_open=True, idle_hours=2, revision=now.revision))
    assert read_settings(scene.store) == changed
    with pytest.raises(RecordsError, match="in between"):
        change_settings(scene.store, first, now)
    student, _ = accounts.make_account(scene.store, first, handle="wren", roles=frozenset({Role.STUDENT}))
    with pytest.raises(NotAllowed):
        change_settings(scene.store, student, changed)


@pytest.mark.parametrize("wrong", [{"idle_hours": 0}, {"idle_hours": 100}, {"longest_days": 0}, {"longest_days": 31}])
def test_settings_out_of_range_are_refused(wrong: dict[str, int]) -> None:
    with pytest.raises(InvalidRecord):
        Settings(**wrong)
