"""A simulated class: students of known skill, bias and drift answer the photos of a key. Seeded, so it can be repeated.

For the example class, and for tests of the review, which plant more. Nothing here imitates real students: the rates are
assumptions.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from rubric.review.table import BLANK, CANT_TELL, NOT_SEEN, SEEN, ClassTable, Codes, KeyTable

Floats = NDArray[np.float64]
_NOTHING: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, kw_only=True)
class Cohort:
    """Who the students are and what is planted. All rates are shares of answers, 0 to 1.

    Parameters
    ----------
    students : tuple of str
    error : float
        How often an answer differs from the key.
    skill_sd : float
        Spread of the students' skill on the logit scale; 0.3 spreads 15 % over about 9 to 24 % (95 % of students).
    spot_sd : float
        Spread of the difficulty of single items on single photos, on the logit scale.
    weak_items, ambiguous_photos : mapping of id to float
        The error instead of `error` there.
    over_claimers : mapping of student to float
        How often that student answers *seen* or *not seen* where the key cannot tell.
    halo : mapping of student to float
        Share of that student's answers that follow one impression of the photo, which is *seen* or *not seen*.
    drift : mapping of student to float
        Change of the logit of the error from the first photo to the last.
    number_followers : mapping of student to float
        Share of second answers that are set to what the student's own measure suggests.
    change : float
        Share of answers that are thought over, and drawn afresh, at the second look.
    blank : float
        Share of answers left out.
    """

    students: tuple[str, ...]
    error: float = 0.15
    skill_sd: float = 0.3
    spot_sd: float = 0.0
    weak_items: Mapping[str, float] = field(default_factory=lambda: _NOTHING)
    ambiguous_photos: Mapping[str, float] = field(default_factory=lambda: _NOTHING)
    over_claimers: Mapping[str, float] = field(default_factory=lambda: _NOTHING)
    halo: Mapping[str, float] = field(default_factory=lambda: _NOTHING)
    drift: Mapping[str, float] = field(default_factory=lambda: _NOTHING)
    number_followers: Mapping[str, float] = field(default_factory=lambda: _NOTHING)
    change: float = 0.1
    blank: float = 0.02

    def of_students(self, planted: Mapping[str, float]) -> Floats:
        """The planted value of each student, 0 for the others."""
        return np.array([planted.get(student, 0.0) for student in self.students])


def simulate_answers(key: KeyTable, cohort: Cohort, seed: int) -> ClassTable:
    """First answers of the cohort."""
    rng = np.random.default_rng([seed, 2])
    answers = _with_halo(_draw(key, cohort, _logits(key, cohort, seed), rng), key, cohort, rng)
    return _table(key, cohort, np.where(rng.random(answers.shape) < cohort.blank, BLANK, answers))


def simulate_second_look(first: ClassTable, cohort: Cohort, seed: int, *, suggested: Codes | None = None) -> ClassTable:
    """Second answers: some thought over, with the same skill; followers of the number take what it suggests.

    Parameters
    ----------
    suggested : array of int, shape (students, photos, items)
        -1 where the student's measure suggests nothing.
    """
    rng = np.random.default_rng([seed, 3])
    again = _draw(first.key, cohort, _logits(first.key, cohort, seed), rng)
    kept = rng.random(first.answers.shape) >= cohort.change
    answers = np.where(kept | (first.answers == BLANK), first.answers, again)
    if suggested is not None:
        follows = rng.random(answers.shape) < cohort.of_students(cohort.number_followers)[:, None, None]
        answers = np.where(follows & (suggested != BLANK) & (answers != BLANK), suggested, answers)
    return _table(first.key, cohort, answers)


def simulate_seconds(cohort: Cohort, n_photos: int, seed: int) -> Floats:
    """Seconds spent on each photo, shape (students, photos): about four minutes at first, a third less at the end."""
    rng = np.random.default_rng([seed, 6])
    usual = np.linspace(240, 160, n_photos) * rng.lognormal(0, 0.2, (len(cohort.students), 1))
    seconds: Floats = usual * rng.lognormal(0, 0.25, (len(cohort.students), n_photos))
    return seconds


def _logits(key: KeyTable, cohort: Cohort, seed: int) -> Floats:
    """What is added to the logit of the error, the same at both looks: the students' skill and the spots' difficulty."""
    rng = np.random.default_rng([seed, 7])
    skills = rng.normal(0, cohort.skill_sd, (len(cohort.students), 1, 1))
    return skills + rng.normal(0, cohort.spot_sd, key.answers.shape)


def _logit(rate: Floats) -> Floats:
    held = np.clip(rate, 1e-6, 1 - 1e-6)
    logits: Floats = np.log(held / (1 - held))
    return logits


def _error_rates(key: KeyTable, cohort: Cohort, logits: Floats) -> Floats:
    base = np.full(key.answers.shape, cohort.error)
    for item, rate in cohort.weak_items.items():
        base[:, key.items.index(item)] = rate
    for photo, rate in cohort.ambiguous_photos.items():
        base[key.photos.index(photo)] = rate
    way = np.linspace(-0.5, 0.5, len(key.photos))[:, None]
    drift = cohort.of_students(cohort.drift)[:, None, None] * way
    rates: Floats = 1 / (1 + np.exp(-(_logit(base) + logits + drift)))
    for student, rate in cohort.over_claimers.items():
        rates[cohort.students.index(student), key.answers == CANT_TELL] = rate
    return rates


def _draw(key: KeyTable, cohort: Cohort, logits: Floats, rng: np.random.Generator) -> Codes:
    """An answer is the key's, or one of the two others: *seen* or *not seen* three times in five, else *can't tell*."""
    shape = (len(cohort.students), *key.answers.shape)
    wrong = rng.random(shape) < _error_rates(key, cohort, logits)
    opposite = np.where(key.answers == SEEN, NOT_SEEN, SEEN)
    other = np.where(rng.random(shape) < 0.6, opposite, CANT_TELL)
    either = np.where(rng.random(shape) < 0.5, SEEN, NOT_SEEN)
    drawn = np.where(wrong, np.where(key.answers == CANT_TELL, either, other), key.answers)
    return np.where(key.answers == BLANK, BLANK, drawn).astype(np.int8)


def _with_halo(answers: Codes, key: KeyTable, cohort: Cohort, rng: np.random.Generator) -> Codes:
    impression = rng.choice([SEEN, NOT_SEEN], size=(*answers.shape[:2], 1))
    coloured = rng.random(answers.shape) < cohort.of_students(cohort.halo)[:, None, None]
    return np.where(coloured & (key.answers != BLANK), impression, answers).astype(np.int8)


def _table(key: KeyTable, cohort: Cohort, answers: Codes) -> ClassTable:
    return ClassTable(students=cohort.students, key=key, answers=answers)
