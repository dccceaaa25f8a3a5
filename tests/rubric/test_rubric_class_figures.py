"""Arrays of a class, its figures, patterns, points, and which photos show a point."""

from math import cos, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from simulated_classes import demo_cohort, simulate_points, simulated_work

from rubric.agreement import percent_agreement
from rubric.answers import Answer, AnswerSheet, ItemAnswer, KeyAnswer, Phase, ReferenceKey, View
from rubric.checklist import shipped_checklist
from rubric.errors import InvalidAnswer, InvalidRatings
from rubric.feedback import Outcome, compare_with_key
from rubric.review.angles import AngleTable
from rubric.review.figures import (
    Share,
    agreement_map,
    class_bias,
    item_figures,
    photo_figures,
    student_biases,
    student_figures,
)
from rubric.review.finding_words import finding_text
from rubric.review.findings import Finding, FindingKind, class_findings
from rubric.review.patterns import change_of_mind, follows_number, halo, suggested_answers
from rubric.review.points import PointTable, landmark_ellipses
from rubric.review.table import ClassTable, KeyTable, answer_spread, class_table, key_table
from rubric.review.teach_next import photos_to_show
from rubric.review.whole import review_class
from rubric.simulation.classes import simulate_seconds

S, N, C, B = 0, 1, 2, -1  # seen, not seen, can't tell, blank


def work_of(seed, n_photos=20, **planted):
    return simulated_work(seed, demo_cohort(20, **planted), n_photos=n_photos)


def _key(answers, **given_):
    answers = np.array(answers)
    shape = answers.shape
    return KeyTable(
        photos=tuple(f"p{n}" for n in range(shape[0])),
        items=tuple(f"i{n}" for n in range(shape[1])),
        answers=answers,
        accepted=given_.get("accepted", np.zeros((*shape, 3))),
        disputed=given_.get("disputed", np.zeros(shape)),
    )


def _table(key, answers):
    return ClassTable(students=tuple(f"s{n}" for n in range(len(answers))), key=key, answers=np.array(answers))


def _sheet(**answers):
    return AnswerSheet(answers={item: ItemAnswer(answer=answer) for item, answer in answers.items()})


KEYS = {
    "one": ReferenceKey(
        phase=Phase.AT_BREAST,
        view=View.SIDE,
        answers={
            "body_line": KeyAnswer(answer=Answer.SEEN, why="", accepted=frozenset({Answer.CANT_TELL})),
            "lips_out": KeyAnswer(answer=Answer.CANT_TELL, why=""),
            "ask_comfort": KeyAnswer(answer=Answer.CANT_TELL, why=""),
        },
    ),
    "two": ReferenceKey(
        phase=Phase.AT_BREAST, view=View.SIDE, answers={"lips_out": KeyAnswer(answer=Answer.NOT_SEEN, why="")}
    ),
}


def test_sheets_and_keys_become_arrays_without_the_ask_group():
    key = key_table(shipped_checklist(), KEYS, disputed={"two": ["lips_out"]})
    assert (key.photos, key.items) == (("one", "two"), ("body_line", "lips_out"))
    assert key.answers.tolist() == [[S, C], [B, N]]
    assert key.graded.tolist() == [[True, True], [False, False]]
    sheets = {
        "Ann": {"one": _sheet(body_line=Answer.CANT_TELL, lips_out=Answer.SEEN, ask_comfort=Answer.SEEN)},
        "Bo": {"two": _sheet(lips_out=Answer.SEEN), "three": _sheet(lips_out=Answer.SEEN)},
    }
    table = class_table(key, sheets)
    assert table.answers.tolist() == [[[C, S], [B, B]], [[B, B], [B, S]]]
    assert table.differs.tolist() == [[[False, True], [False, False]], [[False, False], [False, False]]]
    assert table.over_claimed.sum() == 1
    assert table.under_claimed.sum() == 0


ANSWER = st.sampled_from(list(Answer))


@given(ANSWER, st.frozensets(ANSWER), st.none() | ANSWER)
def test_the_arrays_compare_as_the_feedback_does(key_answer, accepted, own):
    key = ReferenceKey(
        phase=Phase.AT_BREAST,
        view=View.SIDE,
        answers={"lips_out": KeyAnswer(answer=key_answer, why="", accepted=accepted)},
    )
    sheet = _sheet() if own is None else _sheet(lips_out=own)
    outcome = compare_with_key(shipped_checklist(), sheet, key).items[0].outcome
    table = class_table(key_table(shipped_checklist(), {"p": key}), {"s": {"p": sheet}})
    assert bool(table.compared[0, 0, 0]) == (outcome != Outcome.BLANK)
    assert bool(table.over_claimed[0, 0, 0]) == (outcome == Outcome.OVER_CLAIMED)
    assert bool(table.under_claimed[0, 0, 0]) == (outcome == Outcome.UNDER_CLAIMED)
    differing = (Outcome.OVER_CLAIMED, Outcome.UNDER_CLAIMED, Outcome.DIFFERS)
    assert bool(table.differs[0, 0, 0]) == (outcome in differing)


def test_arrays_of_another_shape_or_with_unknown_codes_are_refused_and_own_ones_cannot_be_changed():
    key = _key([[S, N]])
    with pytest.raises(InvalidAnswer, match="answers must have the shape"):
        _table(key, [[S, N]])
    with pytest.raises(InvalidAnswer, match="run from -1 to 2, got 0 to 3"):
        _table(key, [[[S, 3]]])
    with pytest.raises(ValueError, match="read-only"):
        _table(key, [[[S, N]]]).answers[0, 0, 0] = C


def test_the_projector_is_told_nothing_of_fewer_than_five():
    key = _key([[S]])
    four = answer_spread(_table(key, [[[S]]] * 4 + [[[B]]] * 9), "p0", "i0")
    assert (four.counts, four.n) == (None, 4)
    assert "from 5 answers on" in four.reason
    five = answer_spread(_table(key, [[[S]]] * 4 + [[[C]]]), "p0", "i0")
    assert dict(five.counts) == {Answer.SEEN: 4, Answer.NOT_SEEN: 0, Answer.CANT_TELL: 1}


# two photos by two items; three students; blanks are missing
SMALL = _table(
    _key([[S, C], [N, B]]),
    [[[S, S], [N, B]], [[C, C], [C, B]], [[N, N], [C, B]]],
)


def test_figures_of_a_small_class_are_as_counted_by_hand():
    assert agreement_map(SMALL)[0].tolist() == pytest.approx([1 / 3, 1 / 3])
    assert agreement_map(SMALL)[1, 0] == pytest.approx(1 / 3)
    assert np.isnan(agreement_map(SMALL)[1, 1])
    first, second = item_figures(SMALL)
    assert (first.agrees, first.over_claimed, first.under_claimed) == (
        Share(count=2, n=6),
        Share(count=0, n=0),
        Share(count=3, n=6),
    )
    assert (first.most_given_instead, second.most_given_instead) == (Answer.CANT_TELL, Answer.SEEN)
    assert second.over_claimed == Share(count=2, n=3)
    # three students, three answers: all pairs differ; on the second photo one pair of three is alike
    assert first.split == pytest.approx((1 + 2 / 3) / 2)
    assert [figures.agrees.count for figures in photo_figures(SMALL)] == [2, 1]
    one, two, _ = student_figures(SMALL)
    assert (one.answered, one.asked, one.agrees) == (3, 3, Share(count=2, n=3))
    assert (one.over_claimed, two.under_claimed) == (Share(count=1, n=1), Share(count=2, n=2))


def test_a_share_of_nothing_is_unknown():
    share = Share(count=0, n=0)
    assert (share.value, share.low, share.high) == (None, None, None)


def test_the_split_of_a_class_is_what_percent_agreement_leaves():
    table = work_of(1).first
    splits = {figures.item: figures.split for figures in item_figures(table)}
    for item in table.key.items[:3]:
        assert splits[item] == pytest.approx(1 - percent_agreement(table.ratings(item)).value)


def test_bias_of_a_class_and_of_a_student_are_mean_differences_with_intervals():
    rng = np.random.default_rng(5)
    key = rng.uniform(70, 140, 12)
    values = key + rng.normal(0, 4, (9, 12)) + np.array([8.0] + [0.0] * 8)[:, None]
    values[2, 3] = np.nan
    table = AngleTable(
        name="gape_angle",
        students=tuple("abcdefghi"),
        photos=tuple(map(str, range(12))),
        values=values,
        key=np.where(np.arange(12) == 11, np.nan, key),
    )
    known = (values - key)[:, :11]
    whole = class_bias(table)
    assert whole.value == pytest.approx(np.nanmean(known))
    assert whole.sd == pytest.approx(np.nanstd(known[~np.isnan(known)], ddof=1))
    assert whole.limits == pytest.approx((whole.value - 1.96 * whole.sd, whole.value + 1.96 * whole.sd))
    assert whole.n == 98
    # the student who reads wide makes the class's bias far less sure than 98 readings would have it
    assert whole.high - whole.low > 2 * 2 * 1.98 * whole.sd / np.sqrt(98) / 1.6
    first = student_biases(table)[0]
    assert (first.student, first.n) == ("a", 11)
    assert first.low < 8 < first.high
    assert first.low > 0


def test_a_bias_from_too_few_readings_has_no_interval_and_says_so():
    table = AngleTable(name="gape_angle", students=("a",), photos=("p", "q"), values=[[90, 95]], key=[88, np.nan])
    bias = class_bias(table)
    assert (bias.value, bias.low, bias.sd, bias.n) == (2, None, None, 1)
    assert bias.reason.startswith("no interval from fewer than five")
    nothing = AngleTable(name="gape_angle", students=("a",), photos=("p",), values=[[np.nan]], key=[88])
    assert (class_bias(nothing).value, class_bias(nothing).reason) == (None, "no reading that the key has too")
    with pytest.raises(InvalidRatings, match="finite numbers of shape"):
        AngleTable(name="gape_angle", students=("a",), photos=("p",), values=[[np.inf]], key=[88])


@given(st.floats(-89, 90), st.floats(3, 20), st.floats(0.5, 2.5), st.tuples(st.floats(0, 900), st.floats(0, 700)))
def test_an_ellipse_has_the_axes_and_the_turn_of_the_clicks(angle, long, short, middle):
    """Four clicks on the ends of the axes of an ellipse."""
    along = np.array([cos(radians(angle)), sin(radians(angle))])
    across = np.array([-along[1], along[0]])
    clicks = np.array(middle) + np.array([along * long, -along * long, across * short, -across * short])
    table = PointTable(
        students=tuple("abcd"),
        photos=("p",),
        landmarks=("chin",),
        points=clicks[:, None, None, :],
        key=np.array(middle).reshape(1, 1, 2) + 3,
    )
    (ellipse,) = landmark_ellipses(table)
    assert (ellipse.x, ellipse.y) == pytest.approx(middle, abs=1e-6)
    # variance along an axis: two clicks of four at its ends, divisor 3
    assert ellipse.long_axis == pytest.approx(long * np.sqrt(2 / 3), rel=1e-6)
    assert ellipse.short_axis == pytest.approx(short * np.sqrt(2 / 3), rel=1e-6)
    turned = abs(ellipse.angle_deg - angle)
    assert min(turned, 180 - turned) < 1e-3
    assert ellipse.off_key == pytest.approx(3 * np.sqrt(2))


def test_landmarks_with_fewer_than_three_clicks_have_no_ellipse():
    points = np.full((4, 2, 1, 2), np.nan)
    points[:2, 0] = 5
    points[:3, 1] = [[[1, 1]], [[2, 2]], [[3, 1]]]
    table = PointTable(
        students=tuple("abcd"), photos=("p", "q"), landmarks=("chin",), points=points, key=np.full((2, 1, 2), np.nan)
    )
    (ellipse,) = landmark_ellipses(table)
    assert (ellipse.photo, ellipse.n, ellipse.key_x, ellipse.off_key) == ("q", 3, None, None)


def test_the_planted_spread_of_a_landmark_comes_back():
    key = np.random.default_rng(1).uniform(100, 900, (3, 2, 2))
    table = simulate_points(("p", "q", "r"), ("mouth_corner", "chin"), key, demo_cohort(400, click_sd_px=10.0), 1)
    by_place = {(one.photo, one.landmark): one for one in landmark_ellipses(table)}
    assert len(by_place) == 6
    for photo in "pqr":
        wide, round_ = by_place[photo, "mouth_corner"], by_place[photo, "chin"]
        assert (wide.long_axis, wide.short_axis) == pytest.approx((20, 10), rel=0.12)
        assert abs(wide.angle_deg) < 5
        assert (round_.long_axis, round_.short_axis) == pytest.approx((10, 10), rel=0.12)


def test_changes_of_mind_are_counted_towards_and_away_from_the_key():
    key = _key([[S, S, S, S, C]])
    first = _table(key, [[[S, N, N, S, B]], [[S, S, S, S, S]]])
    second = _table(key, [[[N, S, C, S, C]], [[S, S, S, S, C]]])
    change = change_of_mind(first, second)
    assert change.towards.tolist() == [1, 1]
    assert change.away.tolist() == [1, 0]
    assert change.other.tolist() == [1, 0]
    assert change.compared.tolist() == [4, 5]  # what was blank at the first look is no change
    assert change.net.value[0] == pytest.approx((0 + 1 / 5) / 2)


def test_a_second_look_that_helps_is_found():
    work = work_of(6, change=0.0)
    answers = np.array(work.first.answers)
    fixed = work.first.differs & (np.random.default_rng(1).random(answers.shape) < 0.3)
    better = np.where(fixed, work.first.key.answers, answers)
    second = ClassTable(students=work.first.students, key=work.first.key, answers=better)
    work = type(work)(first=work.first, second=second)
    (found,) = [one for one in class_findings(work) if one.kind == FindingKind.CHANGE_OF_MIND]
    assert found.value == pytest.approx(fixed.sum() / work.first.compared.sum(), abs=0.005)
    assert finding_text(found).startswith("The second look brought answers to the key: ")


def test_halo_is_near_0_without_it_and_grows_with_it():
    shares = (0.0, 0.3, 0.6, 1.0)
    values = [
        np.mean([halo(work_of(seed, halo={"student 01": share}).first).value[0] for seed in range(6)])
        for share in shares
    ]
    assert abs(values[0]) < 0.03
    assert values == sorted(values)
    assert values[3] > 0.5


def test_a_lenient_student_is_no_halo():
    """Who says seen to everything has no more halo than who says it to nothing: the answers do not vary by photo."""
    work = work_of(7)
    answers = np.array(work.first.answers)
    answers[0] = S
    result = halo(ClassTable(students=work.first.students, key=work.first.key, answers=answers))
    assert abs(result.value[0]) < 0.1
    assert not any(one.student == "student 01" and one.kind == FindingKind.HALO for one in class_findings(work))


def test_following_the_number_counts_only_where_the_key_says_otherwise():
    key = _key([[S, N, C]])
    first = _table(key, [[[N, S, N]], [[N, N, S]]])
    second = _table(key, [[[S, S, S]], [[N, N, C]]])
    suggested = np.array([[[S, S, S]], [[B, S, S]]])
    result = follows_number(first, second, suggested)
    # first student: item 0 went to the key's own answer, item 1 stood there before, item 2 went against the key
    assert (result.went.tolist(), result.left.tolist(), result.could.tolist()) == ([1, 0], [0, 1], [1, 1])


def test_what_a_measure_suggests_is_silent_between_the_outer_bands():
    assert suggested_answers(np.array([120, 119, 90, 89]), seen_from=120, not_seen_below=90).tolist() == [S, B, B, N]


def _finding(kind, **about):
    return Finding(kind=kind, value=0.2, low=0.1, high=0.3, unit="share", p_value=0.0, n=1, **about)


def test_the_photos_that_show_an_item_are_those_with_a_clear_key_on_which_the_class_parts():
    accepted = np.zeros((5, 1, 3))
    accepted[1, 0, C] = 1
    disputed = np.array([[0], [0], [1], [0], [0]])
    key = _key([[S], [S], [S], [S], [S]], accepted=accepted, disputed=disputed)
    n_not_seen = [5, 8, 9, 3, 0]
    answers = [[[N] if student < n else [S] for n in n_not_seen] for student in range(10)]
    shown = photos_to_show(_finding(FindingKind.ITEM, item="i0"), _table(key, answers))
    # p1 has 80 %, halved for the accepted answer; p2 is disputed; p4 parts nobody
    assert [(one.photo, one.item, round(one.score, 2)) for one in shown] == [
        ("p0", "i0", 0.5),
        ("p1", "i0", 0.4),
        ("p3", "i0", 0.3),
    ]
    experts = np.array([[0.5], [1.0], [1.0], [1.0], [1.0]])
    less = photos_to_show(_finding(FindingKind.ITEM, item="i0"), _table(key, answers), expert_agreement=experts)
    assert [one.photo for one in less] == ["p1", "p3", "p0"]


def test_a_key_that_nearly_the_whole_class_contradicts_counts_half():
    key = _key([[S], [S]])
    answers = [[[N], [N] if student < 6 else [S]] for student in range(10)]
    shown = photos_to_show(_finding(FindingKind.ITEM, item="i0"), _table(key, answers))
    assert [(one.photo, one.score) for one in shown] == [("p1", 0.6), ("p0", 0.5)]


def test_for_one_student_the_photos_are_those_that_the_others_saw():
    key = _key([[C], [C], [C]])
    answers = [[[S], [S], [C]], [[C], [S], [C]], [[C], [S], [C]], [[C], [C], [C]]]
    shown = photos_to_show(_finding(FindingKind.STUDENT_OVER_CLAIMS, student="s0"), _table(key, answers))
    assert [one.photo for one in shown] == ["p0", "p1"]


def test_for_a_photo_it_comes_first_and_for_an_angle_the_furthest_readings():
    work = work_of(8, ambiguous_photos={"photo 07": 0.5}, angle_bias={"student 02": 15.0})
    review = review_class(work)
    photo = next(point for point in review.points if point.finding.kind == FindingKind.PHOTO)
    assert photo.photos[0].photo == "photo 07"
    assert len({one.photo for one in photo.photos}) == 3
    angle = next(point for point in review.points if point.finding.measure == "gape_angle")
    furthest = np.argsort(-np.nan_to_num(work.angles[0].difference[1], nan=-99))[:3]
    assert [one.photo for one in angle.photos] == [work.angles[0].photos[at] for at in furthest]


def test_no_text_of_a_review_names_a_student_or_judges():
    work = work_of(
        9,
        weak_items={"lips_out": 0.4},
        ambiguous_photos={"photo 03": 0.5},
        over_claimers={"student 03": 0.9},
        number_followers={"student 08": 0.9},
        halo={"student 12": 0.6},
        angle_bias={"student 15": 12.0},
    )
    points = review_class(work).points
    assert len({point.finding.kind for point in points}) >= 6
    for point in points:
        words = point.text.casefold()
        assert "student 0" not in words
        assert not {"good", "bad", "poor", "fail", "correct", "wrong", "weak", "worst"} & set(
            words.replace(".", "").split()
        )
        assert point.finding.low is None or point.interval


def test_a_review_has_every_item_photo_and_student_and_its_rates_are_shares():
    work = work_of(10)
    key = np.random.default_rng(1).uniform(0, 900, (20, 2, 2))
    points = simulate_points(work.first.key.photos, ("chin", "ear"), key, demo_cohort(20), 1)
    review = review_class(work, points=points)
    assert (len(review.items), len(review.photos), len(review.students)) == (16, 20, 20)
    assert review.agreement_map.shape == (20, 16)
    assert len(review.ellipses) == 40
    over = review.table.over_claimed.sum() / (review.table.compared & (review.table.key.answers == C)).sum()
    assert review.over_claiming.value == pytest.approx(over)
    assert 0 <= review.over_claiming.low < over < review.over_claiming.high <= 1
    assert len(review.by_item) == 16
    assert review.table is work.second


def test_a_review_of_nothing_is_empty_and_says_nothing_untrue():
    key = _key([[S, N], [C, S]])
    review = review_class(type(work_of(1))(first=_table(key, np.full((6, 2, 2), B))))
    assert review.points == ()
    assert review.over_claiming.value is None
    assert review.among_students.kappa.value is None
    assert all(figures.agrees.value is None for figures in review.students)
    assert review.change is None


def test_times_of_a_simulated_class_are_seconds_above_0_that_shrink():
    seconds = simulate_seconds(demo_cohort(30), 12, 3)
    assert seconds.shape == (30, 12)
    assert seconds.min() > 0
    assert np.median(seconds[:, :3]) > np.median(seconds[:, -3:])


def test_the_same_seed_gives_the_same_class_and_another_seed_another():
    first, again, other = work_of(3), work_of(3), work_of(4)
    assert np.array_equal(first.second.answers, again.second.answers)
    assert not np.array_equal(first.second.answers, other.second.answers)


def test_a_drifting_student_differs_more_at_the_end_than_at_the_start():
    tables = [work_of(seed, drift={"student 01": 3.0}, n_photos=30).first for seed in range(10)]
    start = np.mean([table.differs[0, :8].mean() for table in tables])
    end = np.mean([table.differs[0, -8:].mean() for table in tables])
    assert end > 2 * start
