"""What a checklist is made of: items, and the named bands of measures."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from rubric.answers import Phase, Settles, View


@dataclass(frozen=True, kw_only=True)
class Band:
    """A named stretch of a measure, a teaching convention and never a verdict.

    Parameters
    ----------
    name : str
        Describes, never judges: "wide", "in line".
    low, high : float or None
        The band holds low <= value < high, in the measure's own unit; None where it is open.
    """

    name: str
    low: float | None
    high: float | None

    def meets(self, low: float, high: float) -> bool:
        """Whether any value from low to high, both included, lies in this band.

        >>> Band(name="medium", low=90, high=120).meets(80, 90), Band(name="narrow", low=None, high=90).meets(90, 95)
        (True, False)
        """
        return (self.low is None or high >= self.low) and (self.high is None or low < self.high)


@dataclass(frozen=True, kw_only=True)
class Item:
    """One visible sign, or one thing to ask about because no photo shows it.

    Parameters
    ----------
    id : str
        Short name in data, such as "body_line".
    text : str
        A statement that is *seen*, *not seen* or *can't tell from this photo*; for the ask group a question.
    group : str
        Heading on the screen.
    phases, views : frozenset of Phase and of View
        Where the item applies; both empty for the ask group.
    visible : bool
        False for the ask group, which a still photo cannot show.
    evidence : tuple of str
        Names of measures that are shown beside the item; they never fill in the answer.
    basis : str
        "W", "C" or "W/C"; `source` says it in words.
    source : str
        Where the sign is taught.
    guidance : str
        Where and how to look.
    cant_tell_when : str
        What hides the sign.
    explain : str
        Words of the trade, explained where they first stand; "" where there are none.
    caution : str
        What to mind where someone could come to harm; "" where nothing is to be added.
    settles : Settles
        What would usually settle the item where this photo cannot.
    """

    id: str
    text: str
    group: str
    phases: frozenset[Phase]
    views: frozenset[View]
    visible: bool
    evidence: tuple[str, ...]
    basis: str
    source: str
    guidance: str
    cant_tell_when: str
    explain: str
    caution: str
    settles: Settles

    def applies(self, phase: Phase | None, view: View | None) -> bool:
        """Whether the item is asked there; None stands for what nobody has said yet and rules nothing out."""
        return self.visible and (phase is None or phase in self.phases) and (view is None or view in self.views)


@dataclass(frozen=True, kw_only=True)
class Checklist:
    """The items in the order in which they are asked, and the bands of the measures.

    Parameters
    ----------
    version : str
        Kept with every answer sheet, so that old answers can be read with the wording of their time.
    items : tuple of Item
    bands : mapping of measure name to tuple of Band
        In rising order. The mapping is copied and cannot be changed afterwards.
    band_notes : mapping of measure name to str
        Where the edges come from; shown wherever the bands are.
    """

    version: str
    items: tuple[Item, ...]
    bands: Mapping[str, tuple[Band, ...]] = field(default_factory=dict)
    band_notes: Mapping[str, str] = field(default_factory=dict)

    def __post_init__(self) -> None:
        object.__setattr__(self, "bands", MappingProxyType(dict(self.bands)))
        object.__setattr__(self, "band_notes", MappingProxyType(dict(self.band_notes)))

    def items_for(self, phase: Phase, view: View) -> tuple[Item, ...]:
        """The visible items that apply to a photo of that phase and view, in order."""
        return tuple(item for item in self.items if item.applies(phase, view))

    def ask_items(self) -> tuple[Item, ...]:
        """What no photo shows: to be asked about, never scored, never counted in an agreement."""
        return tuple(item for item in self.items if not item.visible)

    def get(self, item_id: str) -> Item | None:
        """The item of that id, or None where this checklist has none."""
        return next((item for item in self.items if item.id == item_id), None)
