"""Sittings, what is counted in them, and tempers found again from counts of known fish."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from sim.check import check_scenario
from sim.comparison import Design
from sim.crew import play, play_one
from sim.errors import Refused
from sim.known import Known, jobs_of_known, known_of
from sim.likely import learn, marginals
from sim.scenario_file import read_scenario
from sim.settings import Settings
from sim.sittings import Row, Sitting, check_rows, hour_more, stretches_watched, usual_sitting
from sim.start import draw_fish
from sim.watched import Counted, WatchedJob, watched_scenario
from sim.watching import Watching, alike, bearing
from tests.sim.made import design_of
from tests.viz.commands import SMALL

SOON = Sitting(0, 13.0, 10.0)
TEACH, JUDGED = 480, 90


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Design:
    path = tmp_path_factory.mktemp("watched") / "small.toml"
    path.write_text(SMALL, "utf-8")
    return design_of(read_scenario(path).model_copy(update={"days": 1.0}))


def rows_for(*counts: tuple[str, Any], sitting: Sitting = SOON) -> list[Row]:
    return [Row(f"row {k + 2}", who, sitting, of) for k, (who, of) in enumerate(counts)]


@pytest.fixture(scope="module")
def taught(small: Design) -> Watching:
    """Runs that teach and runs that are judged, of three fish each counted by itself.

    What nobody has measured is held: it would drown what an hour more tells of a fish.
    """
    names = ("Flint", "tetras 1", "tetras 2")
    rows = check_rows(small.scenario, rows_for(*((name, (4, 4, 3.0)) for name in names)))
    watching = Watching(
        [small], rows, runs=TEACH + JUDGED, seed=5, settings=Settings(), changes={}
    )
    for outcome in play(watching.jobs()):
        watching.take(outcome)
    return watching


@pytest.fixture(scope="module")
def judged(small: Design, taught: Watching) -> list[Known]:
    """What the counts of each judged run say, learnt from the other runs: 270 synthetic fish."""
    teach = {name: values[:TEACH] for name, values in taught.arrays().items()}
    found = []
    for counts in taught.arrays()["counts"][TEACH:]:
        rows = rows_for(
            *((one.name, (int(given), int(taken), float(hidden)))
              for one, (given, taken, hidden) in zip(taught.members, counts[0], strict=True))
        )  # fmt: skip
        watching = Watching(
            [small], check_rows(small.scenario, rows), runs=TEACH, seed=5,
            settings=taught.settings, changes={},
        )  # fmt: skip
        watching.restore(teach)
        known = known_of(watching)
        assert known is not None
        found.append(known)
    return found


def test_tempers_are_found_again_from_the_counts_of_fish_whose_tempers_are_known(
    taught: Watching, judged: list[Known]
) -> None:
    """Seed 5: of 270 synthetic fish 80 to 97 % are to be covered by what is told of them.

    Ranges as wide as nothing known would cover too, so those of the large fish must be narrower,
    and their middles must go with the truth.
    """
    truth = taught.tempers_drawn()[TEACH:]
    inside = np.zeros((2, JUDGED, 3), dtype=bool)
    for k, known in enumerate(judged):
        for i, fish in enumerate(known.fish):
            kind = fish.member.species
            fierce = np.exp(kind.aggression_sd * truth[k, i, 0])
            bold = np.clip(kind.boldness + kind.boldness_sd * truth[k, i, 1], 0.0, 1.0)
            assert fish.aggression is not None
            inside[0, k, i] = fish.aggression.now.low <= fierce <= fish.aggression.now.high
            inside[1, k, i] = fish.boldness.now.low <= bold <= fish.boldness.now.high
    for trait in range(2):
        assert 0.80 < inside[trait].mean() < 0.97
    ends = [(one.fish[0].aggression.now, one.fish[0].aggression.before)
            for one in judged if one.fish[0].aggression]  # fmt: skip
    narrower = [np.log(now.high / now.low) / np.log(was.high / was.low) for now, was in ends]
    assert np.mean(narrower) < 0.95
    middles = np.array([now.middle for now, _ in ends])
    assert np.corrcoef(np.log(middles), truth[:, 0, 0])[0, 1] > 0.15


def test_an_hour_more_leaves_as_wide_a_range_as_was_told_beforehand(
    taught: Watching, judged: list[Known]
) -> None:
    """The hour is then really watched: what was foretold of it from other runs must come."""
    unknowns = taught.tempers_drawn().reshape(TEACH + JUDGED, -1)
    counts = taught.counted(with_hour=True)
    own = [bearing(counts, taught.columns, fish=i) for i in range(3) for _ in range(2)]
    pools = [[2 * i + trait for i in some]
             for some in alike(taught.members, taught.columns) for trait in range(2)]  # fmt: skip
    after = learn(unknowns[:TEACH], [one[:TEACH] for one in own], pools=pools)
    ten, told, came = (np.zeros((JUDGED, 3)) for _ in range(3))
    for k, known in enumerate(judged):
        ranges = marginals(after, after.expect([one[TEACH + k] for one in own]))
        low, high = np.quantile(ranges, [0.05, 0.95], axis=0)
        for i, fish in enumerate(known.fish):
            kind = fish.member.species
            assert fish.boldness.hour is not None
            ends = [np.clip(kind.boldness + kind.boldness_sd * end[2 * i + 1], 0.0, 1.0)
                    for end in (low, high)]  # fmt: skip
            ten[k, i] = fish.boldness.width(fish.boldness.now)
            told[k, i] = fish.boldness.hour
            came[k, i] = ends[1] - ends[0]
    flint, *tetras = range(3)
    gained = ten[:, tetras].mean() - came[:, tetras].mean()
    assert gained > 0.03 * ten[:, tetras].mean()
    assert told[:, tetras].mean() == pytest.approx(came[:, tetras].mean(), abs=gained / 3.0)
    # Of the boldness of the one that hides from nobody an hour tells no more, and that is foretold.
    assert came[:, flint].mean() == pytest.approx(ten[:, flint].mean(), rel=0.01)
    assert told[:, flint].mean() == pytest.approx(ten[:, flint].mean(), rel=0.01)


def test_a_fish_that_chases_much_is_known_as_fiercer_and_one_that_does_not_as_milder(
    small: Design, taught: Watching
) -> None:
    most = int(taught.counted()[:, 0].max())
    middles = []
    for given in (0, most):
        rows = rows_for(("Flint", (given, 0, 0.0)))
        watching = Watching(
            [small], check_rows(small.scenario, rows), runs=TEACH, seed=5,
            settings=taught.settings, changes={},
        )  # fmt: skip
        watching.restore(taught.arrays())
        known = known_of(watching)
        assert known is not None
        flint = known.fish[0].aggression
        assert flint is not None
        middles.append(flint.now.middle)
        assert flint.before.low < 0.6
        assert flint.before.high > 1.7
        dose = next(one.narrowed for one in known.answers if one.what == "dose")
        assert dose.before.low < dose.before.high
        assert dose.hour is not None
    assert middles[0] < middles[1]


def test_runs_of_known_fish_have_the_tempers_that_are_known(
    small: Design, taught: Watching
) -> None:
    known = known_of(taught)
    assert known is not None
    jobs = list(jobs_of_known([small], known, runs=4, seed=1, settings=Settings(), changes={}))
    assert jobs[0].tempers == jobs[1].tempers == known.tempers(0)
    assert jobs[2].tempers == known.tempers(1)
    state = jobs[2].begin().state
    kind = known.fish[0].member.species
    z = known.draws[1, :, 0]
    assert np.allclose(state.fish.aggression, kind.aggression * np.exp(kind.aggression_sd * z))


def test_given_tempers_change_nothing_else_and_stated_ones_stay(small: Design) -> None:
    members = small.scenario
    draw: Any = lambda of, **more: draw_fish(  # noqa: E731
        of, seed=1, draw=3, quality_sd=0.1, daring_sd=0.1, **more
    )
    usual = draw(members)
    given = draw(members, tempers={("Flint", 0): (2.0, -1.0), ("tetras", 1): (-2.0, 0.0)})
    kind = usual[0].member.species
    assert given[0].aggression == pytest.approx(kind.aggression * np.exp(2.0 * kind.aggression_sd))
    assert given[0].boldness == pytest.approx(kind.boldness - kind.boldness_sd)
    assert given[1] == usual[1]
    assert given[2].aggression < usual[2].aggression
    for name in ("sex", "length_m", "quality", "daring"):
        assert [getattr(one, name) for one in given] == [getattr(one, name) for one in usual]
    fierce = members.model_copy(
        update={"fish": (members.fish[0].model_copy(update={"temper": "mild"}), members.fish[1])}
    )
    assert draw(fierce, tempers={("Flint", 0): (2.0, 0.0)})[0].aggression < kind.aggression


def test_what_is_counted_is_what_the_acts_of_the_stretch_say(small: Design) -> None:
    sittings = (SOON, Sitting(0, 13.0 + 1.0 / 6.0, 60.0))
    scenario = watched_scenario(small.scenario, sittings)
    chases = 0
    for run in range(3):
        outcome = play_one(
            WatchedJob(scenario=scenario, layout=small.layout, run=run, sittings=sittings)
        )
        assert isinstance(outcome, Counted)
        seen = outcome.seen["chases"]
        assert np.array_equal(outcome.counts[:, :, 0], seen.sum(axis=2))
        assert np.array_equal(outcome.counts[:, :, 1], seen.sum(axis=1))
        assert (outcome.counts[0, :, 2] <= 10.0 + 1e-6).all()
        assert (outcome.counts[1, :, 2] <= 60.0 + 1e-6).all()
        chases += int(seen.sum())
    assert chases > 0


def test_a_further_hour_follows_the_last_sitting_or_takes_another_free_time(small: Design) -> None:
    scenario = small.scenario.model_copy(update={"days": 3.0})
    tank = scenario.tank
    off_h = tank.lights_on_h + tank.light_hours
    assert hour_more(scenario, [SOON]) == Sitting(0, 13.0 + 10.0 / 60.0, 60.0)
    late = Sitting(1, off_h - 0.5, 30.0)
    assert hour_more(scenario, [late]) == Sitting(2, off_h - 1.0, 60.0)
    whole = [Sitting(day, tank.lights_on_h, 60.0 * tank.light_hours) for day in range(3)]
    assert hour_more(scenario, whole) is None


def test_sittings_that_overlap_are_watched_as_one() -> None:
    one, other = Sitting(0, 13.0, 10.0), Sitting(0, 13.0 + 5.0 / 60.0, 20.0)
    (both,) = stretches_watched([other, one])
    assert both.at_h == 13.0
    assert both.minutes == pytest.approx(25.0)
    assert len(stretches_watched([one, Sitting(1, 13.0, 10.0)])) == 2


def test_left_out_day_and_hour_are_taken_as_a_week_in_and_after_noon(small: Design) -> None:
    long = small.scenario.model_copy(update={"days": 30.0})
    assert usual_sitting(long) == Sitting(7, long.tank.lights_on_h + 4.0, 10.0)
    assert usual_sitting(small.scenario).day == 0


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (("Brook", SOON, (1, 0, None)), 'row 2, fish: got "Brook", which nothing here is called'),
        (("Flint", Sitting(3, 13.0, 10.0), (1, 0, None)), "row 2, day: got 3; expected a day from"),
        (("Flint", Sitting(0, 3.0, 10.0), (1, 0, None)), "row 2, hour: got 10 minutes from 03:00"),
        (("Flint", Sitting(0, 13.0, 0.5), (1, 0, None)), "row 2, minutes: got 0.5; expected 1 to"),
        (("Flint", SOON, (1, 0, 11.0)), "row 2, minutes_hidden: got 11; expected minutes from 0"),
        (("tetras", SOON, (1, 0, 20.5)), "from 0 to 20, 2 fish times 10"),
        (("Flint", SOON, (99999, 0, None)), "row 2, chases_given: got 99999; expected a whole"),
        (("Flint", SOON, (None, None, None)), "nothing was counted"),
    ],
)
def test_counts_that_cannot_be_are_refused(small: Design, row: Any, says: str) -> None:
    who, sitting, counts = row
    with pytest.raises(Refused) as refused:
        check_rows(small.scenario, rows_for((who, counts), sitting=sitting))
    assert says in str(refused.value)


def test_a_fish_cannot_be_counted_twice_in_a_sitting(small: Design) -> None:
    twice = rows_for(("Flint", (1, 0, None)), ("flint", (1, 0, None)))
    with pytest.raises(Refused, match="counted in row 2 for the same sitting already; expected"):
        check_rows(small.scenario, twice)
    both = rows_for(("tetras", (1, 0, None)), ("tetras 2", (1, 0, None)))
    with pytest.raises(Refused, match="already with its group"):
        check_rows(small.scenario, both)
    lengths = [
        *rows_for(("Flint", (1, 0, None))),
        *rows_for(("tetras", (1, 0, None)), sitting=Sitting(0, 13.0, 20.0)),
    ]
    with pytest.raises(Refused, match="got 20 for a sitting that lasts 10"):
        check_rows(small.scenario, lengths)


def test_where_everybody_is_average_there_is_nothing_to_learn(small: Design) -> None:
    average = small.scenario.model_copy(update={"without": ("individuality",)})
    with pytest.raises(Refused, match="every fish is average"):
        check_rows(average, rows_for(("Flint", (1, 0, None))))
    meetings = check_scenario(small.scenario).scenario
    assert check_rows(meetings, rows_for(("Flint", (1, 0, None))))[0].who == "Flint"
