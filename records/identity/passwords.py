"""Passwords: what may be one, and how it is kept (argon2id, by argon2-cffi).

Parameters as OWASP's password storage page names them for argon2id: 19 MiB, two passes, one lane. At most four
hashes are computed at once, so that a rush of sign-ins takes 76 MiB and not more.
"""

import secrets
import threading
from functools import cache
from pathlib import Path

from argon2 import PasswordHasher, Type
from argon2.exceptions import InvalidHashError, VerificationError

from records.errors import InvalidRecord
from records.identity.handles import folded

SHORTEST, LONGEST = 12, 200
MOST_AT_ONCE = 4
_ONE_TIME_GROUPS, _ONE_TIME_GROUP = 4, 4
#: Without 0, 1, i, l, o, which are taken for each other.
UNAMBIGUOUS = "abcdefghjkmnpqrstuvwxyz23456789"

_hasher = PasswordHasher(time_cost=2, memory_cost=19456, parallelism=1, hash_len=32, salt_len=16, type=Type.ID)
_turns = threading.BoundedSemaphore(MOST_AT_ONCE)


def check_new(password: str, handle: str) -> None:
    """Return only where this may become the password of whoever has the handle.

    Raises
    ------
    InvalidRecord
        Too short, too long, the handle itself, or one of the most common.
    """
    if len(password) < SHORTEST:
        raise InvalidRecord(f"A password has at least {SHORTEST} characters; a few words in a row do well.")
    if len(password) > LONGEST:
        raise InvalidRecord(f"A password has at most {LONGEST} characters.")
    plain = folded(password)
    # A handle written twice is no harder to guess than written once.
    if plain.replace(" ", "").replace(folded(handle).replace(" ", ""), "") == "":
        raise InvalidRecord("The password must not be the name that you sign in with.")
    if plain in _common() or len(set(plain)) < 3:
        raise InvalidRecord("This is one of the passwords that are tried first; please choose another.")


@cache
def _common() -> frozenset[str]:
    lines = Path(__file__).with_name("common_passwords.txt").read_text(encoding="utf-8").splitlines()
    return frozenset(folded(line) for line in lines if line and not line.startswith("#"))


def hashed(password: str) -> str:
    """The argon2id hash, salt and parameters in one line of text."""
    with _turns:
        return _hasher.hash(password)


def matches(password_hash: str | None, password: str) -> bool:
    """Whether the password gives this hash; without a hash as much work is done, and the answer is no."""
    with _turns:
        try:
            _hasher.verify(password_hash or _nobodys_hash(), password[: LONGEST + 1])
        except (VerificationError, InvalidHashError):
            return False
    return password_hash is not None


def is_outdated(password_hash: str) -> bool:
    """Whether the hash was made with other parameters than those of today."""
    return _hasher.check_needs_rehash(password_hash)


@cache
def _nobodys_hash() -> str:
    return _hasher.hash(secrets.token_hex(16))


def one_time_password() -> str:
    """A random password that can be read out: 16 characters, about 79 bits.

    Examples
    --------
    >>> len(one_time_password().split("-"))
    4
    """
    characters = [secrets.choice(UNAMBIGUOUS) for _ in range(_ONE_TIME_GROUPS * _ONE_TIME_GROUP)]
    groups = [characters[at : at + _ONE_TIME_GROUP] for at in range(0, len(characters), _ONE_TIME_GROUP)]
    return "-".join("".join(group) for group in groups)
