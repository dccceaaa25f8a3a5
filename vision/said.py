"""Sentences in English that can still be said in another language.

A `Said` is the English sentence, and it keeps the pattern and what fills it. Everything that stores, compares or prints
it sees the English text; who shows it to a person may look the pattern up in a catalogue and fill it anew, and so need
not take a finished sentence apart. Patterns stand whole in the code, with named places, so that they can be collected.
"""

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Self


class Said(str):
    """A sentence, or a part of one, in English.

    Parameters
    ----------
    template : str
        With places in braces where there are fields; without fields it stands as it is.
    **fields : str or number
        What fills the places. A text may be a Said in turn.

    Examples
    --------
    >>> said = Said("Not placed: {points}.", points=Said("chin"))
    >>> said, said.template, said.fields["points"]
    ('Not placed: chin.', 'Not placed: {points}.', 'chin')
    >>> str(ValueError(said)) is said
    True
    """

    template: str
    fields: Mapping[str, object]

    def __new__(cls, template: str, /, **fields: object) -> Self:
        """Fill the places."""
        said = super().__new__(cls, template.format(**fields) if fields else template)
        said.template = str.__str__(template)  # also where the pattern is a Said
        said.fields = MappingProxyType(fields)
        return said

    def __str__(self) -> str:
        """Itself, so that an error that was raised with a Said hands it on."""
        return self

    def __reduce__(self) -> tuple[object, ...]:
        """For copies and other processes."""
        return _again, (type(self), self.template, dict(self.fields))


def _again(cls: type[Said], template: str, fields: dict[str, object]) -> Said:
    return cls(template, **fields)


def together(parts: Iterable[str], *, between: str = " ") -> Said:
    """Several sentences or words as one; nothing in it but the parts is for a translator.

    >>> together(["chin", "ear"], between=", ")
    'chin, ear'
    """
    fields = {f"part{place}": part for place, part in enumerate(parts)}
    return Said(between.join(f"{{{name}}}" for name in fields), **fields)


def listed(parts: Iterable[str]) -> Said:
    """The parts with commas and a last "and".

    >>> listed(["chin", "ear", "hip"])
    'chin, ear and hip'
    """
    *first, last = parts
    return Said("{first} and {last}", first=together(first, between=", "), last=last) if first else together([last])
