"""Outcome: what one run left behind, as rows of tidy tables with the unit in each name."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sim.day_zero import as_counted, day_zero, lost_while_settling
from sim.rules.codes import CHASE_ENDS, DEAD, IN_TANK
from sim.scenario import Scenario, company
from sim.start import draw_of
from sim.state import NEVER, State, harm_grid
from sim.unmeasured import set_of

if TYPE_CHECKING:
    from sim.tables import Floor

END_FIELDS = tuple(f"ended_{text.split()[0]}" for text in CHASE_ENDS)

RUN_ROW = np.dtype(
    [
        ("run", "i8"),
        ("draw", "i8"),  # which fish
        ("number_set", "i8"),  # which set of drawn numbers; -1 where they are held
        ("harm_per_bite", "f8"),  # as drawn, injury
        ("serious", "u1"),
        ("serious_day", "f8"),  # inf when none
        ("death", "u1"),
        ("death_day", "f8"),
        ("deaths", "i8"),
        ("eaten", "i8"),
        ("any_eaten", "u1"),  # a fish swallowed
        ("lost_settling", "i8"),  # fish that died before day 0, while the tank settled
        ("any_lost_settling", "u1"),
        ("least_food_share", "f8"),  # of its need, the fish that ate least; nan if not played
        ("food_spread", "f8"),  # sd over mean of those shares
        ("food_attacks_per_meal", "f8"),
        ("hurt_fish", "i8"),  # fish with a serious injury
        ("mate_hurt", "u1"),  # one of a breeding pair seriously hurt
        ("separated", "u1"),  # the keeper moved a fish out
        ("separated_day", "f8"),
        ("moved_out", "i8"),  # fish that were moved out
        ("places_needed", "i8"),  # spare places wanted at once, the most
        ("needed_day", "f8"),  # first day on which one was wanted
        ("places_short", "u1"),  # there were too few
        ("short_day", "f8"),
        ("dose", "f8"),  # injury received, summed over fish
        ("worst_injury", "f8"),
        ("chases_per_h", "f8"),
        ("bites_per_h", "f8"),
        ("attacks_per_h", "f8"),
        ("contests", "i8"),
        ("hidden_h_per_day", "f8"),  # mean over fish
        ("corner_h_per_day", "f8"),
        ("held_share", "f8"),
        ("open_share", "f8"),
        ("pair_chase_share", "f8"),  # share of all chases that are the breeding pair's
        ("pair_near_share", "f8"),  # of those that are watched, near the brood
        ("paired", "u1"),  # a pair formed, or was there from the start
        ("pair_day", "f8"),  # inf when none
        ("pairs", "i8"),
        ("pairs_broken", "i8"),
        ("spawnings", "i8"),
        ("spawn_day", "f8"),
        ("raised_broods", "i8"),
        ("eaten_broods", "i8"),
        ("lost_broods", "i8"),
        ("taken_broods", "i8"),
        ("fry_raised", "f8"),
        ("fry_taken", "f8"),
        ("mate_by_mate", "u1"),  # a fish seriously hurt by its own mate
        ("mate_by_mate_day", "f8"),
        ("mate_chase_share", "f8"),  # share of all chases that are of a mate
        ("guarded_m2", "f8"),  # territory of a pair while it has young; nan when none
        ("uprooted", "i8"),  # plants
        ("uprooted_day", "f8"),
        ("farthest_m", "f8"),  # farthest swim from the largest holder's site
        ("glass_cut_share", "f8"),  # share of that holder's disc outside the glass
        ("watched_share", "f8"),
        ("awake_h", "f8"),
        *((name, "i8") for name in END_FIELDS),
    ]
)

FISH_ROW = np.dtype(
    [
        ("run", "i8"),
        ("fish", "i8"),
        ("male", "u1"),
        ("start_length_m", "f8"),
        ("length_m", "f8"),
        ("mass_g", "f8"),
        ("food_share", "f8"),  # eaten over needed; nan where neither meals nor growth are played
        ("condition", "f8"),  # share of its need it has been eating of late
        ("swallowed", "i8"),  # fish it has eaten
        ("aggression", "f8"),
        ("boldness", "f8"),
        ("dose", "f8"),
        ("worst_injury", "f8"),
        ("last_injury", "f8"),
        ("minor_day", "f8"),
        ("serious_day", "f8"),
        ("death_day", "f8"),
        ("eaten", "u1"),
        ("lost_settling", "u1"),  # died before day 0
        ("moved_out", "u1"),
        ("moved_day", "f8"),
        ("night_visits", "i8"),
        ("hidden_h_per_day", "f8"),
        ("corner_h_per_day", "f8"),
        ("chases_given", "i8"),
        ("chases_taken", "i8"),
        ("bites_given", "i8"),
        ("bites_taken", "i8"),
        ("contests_won", "i8"),
        ("contests_lost", "i8"),
        ("holds_site", "i8"),
        ("territory_m2", "f8"),
        ("paired_day", "f8"),  # inf when never
        ("mate", "i8"),  # the last or present one, -1 none
        ("spawnings", "i8"),
        ("mate_hurt_day", "f8"),  # first seriously hurt by its mate
        ("young_eaten", "f8"),
    ]
)

DAY_ROW = np.dtype(
    [
        ("run", "i8"),
        ("day", "i8"),
        ("stage", "i8"),
        ("alive", "i8"),
        ("moved_out", "i8"),
        ("places_needed", "i8"),
        ("attacks", "i8"),
        ("chases", "i8"),
        ("bites", "i8"),
        ("contests", "i8"),
        ("dose", "f8"),
        ("mean_injury", "f8"),
        ("hidden_h_per_fish", "f8"),
        ("held_share", "f8"),
    ]
)


OUTGROWN_ROW = np.dtype(
    [
        ("run", "i8"),
        ("fish", "i8"),
        ("room", "i8"),  # hiding place, in the order of the layout
        ("day", "f8"),  # from which the fish passes none of its doors any more
    ]
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one run left behind.

    Parameters
    ----------
    run
        Its number.
    row
        Of `RUN_ROW`, shape (1,).
    fish
        Of `FISH_ROW`, shape (n_fish,).
    days
        Of `DAY_ROW`, shape (n_days,).
    outgrown
        Of `OUTGROWN_ROW`, a row for each hiding place that a fish no longer fits.
    chases, wins
        Who chased whom, and who beat whom in contests, row over column, shape (n_fish, n_fish).
    ends
        Chases by brood stage and end, shape (7, 6).
    log
        The last attacks with their reasons, in order of time, fields of `sim.records.LOG`.
    stretches
        What was watched: fields of `sim.records.STRETCH`, shape (n_stretches,).
    seen
        Acts counted then, fields of `sim.records.SEEN`, row toward column, shape
        (n_stretches, n_fish, n_fish).
    harm
        Injury received, by fish and by `HARM_WAYS`, `GROUNDS`, `STAGES` and `COVER_BANDS` of
        `sim.rules.codes`, shape (n_fish, 4, 5, 7, 6).
    harm_by
        Injury done by row to column, shape (n_fish, n_fish).
    harm_on
        Injury done to row in the territory of column, the last column open ground, shape
        (n_fish, n_fish + 1). A territory that a pair holds counts for the mate that claims more.
    harm_spots
        Injury received by fish and block of the floor, two cells to a side, shape (n_fish,
        blocks along y, blocks along x).
    """

    run: int
    row: np.ndarray
    fish: np.ndarray
    days: np.ndarray
    outgrown: np.ndarray
    chases: np.ndarray
    wins: np.ndarray
    ends: np.ndarray
    log: np.ndarray
    stretches: np.ndarray
    seen: np.ndarray
    harm: np.ndarray
    harm_by: np.ndarray
    harm_on: np.ndarray
    harm_spots: np.ndarray


def outcome_of(state: State, scenario: Scenario, floor: Floor, *, run: int) -> Outcome:
    """Return the outcome of a run that has come to its end, or to any moment.

    Parameters
    ----------
    state
        State of the run.
    scenario, floor
        What it plays.
    run
        Its number.

    Returns
    -------
    Outcome
        Copies: it shares nothing with the state. Where the tank settles first, everything counts
        from day 0.
    """
    state = as_counted(state, day_zero(scenario))
    rows = int(state.tank.log_rows[0])
    kept = len(state.log)
    order = np.arange(rows) if rows <= kept else np.arange(rows - kept, rows) % kept
    return Outcome(
        run=run,
        row=_run_row(state, floor, run=run),
        fish=_fish_rows(state, run=run),
        days=_day_rows(state, scenario, run=run),
        outgrown=_outgrown_rows(state, floor, run=run),
        chases=np.array(state.pair["chases"]),
        wins=np.array(state.pair["wins"]),
        ends=state.ends.copy(),
        log=np.array(state.log[order]),
        stretches=np.array(state.stretches),
        seen=np.array(state.seen),
        harm=state.harm.copy(),
        harm_by=np.array(state.pair["harm"]),
        harm_on=np.column_stack((state.pair["harm_on"], state.tally["open_harm"])),
        harm_spots=_spots(state, floor),
    )


def _spots(state: State, floor: Floor) -> np.ndarray:
    across, deep = harm_grid(int(floor.dims[4]), int(floor.dims[5]))
    return state.harm_spots.reshape(-1, deep, across).copy()


def fish_names(scenario: Scenario) -> tuple[str, ...]:
    """Return the names of the fish, in the order of all tables."""
    return tuple(member.name for member in company(scenario))


def _run_row(state: State, floor: Floor, *, run: int) -> np.ndarray:
    tank, tally = state.tank[0], state.tally
    row = np.zeros(1, RUN_ROW)
    awake_h = tank.awake / 3600.0
    light_h = (tank.light_off - tank.light_on) / 3600.0
    lived = np.maximum(tally.awake_s, 1e-9)
    was_in = tally.awake_s > 0.0
    row["run"] = run
    row["draw"] = draw_of(run)
    row["number_set"] = set_of(run) if state.settings.varied[0] else -1
    row["harm_per_bite"] = state.par.harm_per_bite[0]
    row["death"] = tank.deaths > 0
    row["death_day"] = tally.death_day.min()
    row["deaths"] = tank.deaths
    row["eaten"] = tally.eaten.sum()
    row["any_eaten"] = row["eaten"] > 0
    row["lost_settling"] = lost_while_settling(state).sum()
    row["any_lost_settling"] = row["lost_settling"] > 0
    shares = food_shares(state)[was_in]
    row["least_food_share"] = shares.min() if len(shares) else math.nan
    row["food_spread"] = shares.std() / shares.mean() if shares.any() else math.nan
    row["food_attacks_per_meal"] = tank.food_attacks / tank.meals if tank.meals else math.nan
    hurt = np.isfinite(tally.serious_day) | np.isfinite(tally.death_day)
    row["hurt_fish"] = hurt.sum()
    row["serious"] = hurt.any()
    row["serious_day"] = np.minimum(tally.serious_day, tally.death_day).min()
    mates = np.isfinite(tally.paired_day)
    row["mate_hurt"] = (hurt & mates).any()
    _breeding(row, state)
    row["separated_day"] = tally.moved_day.min()
    row["moved_out"] = np.isfinite(tally.moved_day).sum()
    row["separated"] = row["moved_out"] > 0
    row["places_needed"] = tank.places_needed
    for name in ("needed_day", "short_day"):
        row[name] = tank[name] if tank[name] < NEVER else math.inf
    row["places_short"] = tank.short_day < NEVER
    row["dose"] = tally.dose.sum()
    row["worst_injury"] = tally.worst.max()
    for name in ("chases", "bites", "attacks"):
        row[f"{name}_per_h"] = tank[name] / max(awake_h, 1e-9)
    row["contests"] = tank.contests
    if was_in.any():
        row["hidden_h_per_day"] = light_h * (tally.hidden_s / lived)[was_in].mean()
        row["corner_h_per_day"] = light_h * (tally.corner_s / lived)[was_in].mean()
    held = tank.held_s / max(tank.area_time, 1e-9)
    row["held_share"] = held
    row["open_share"] = 1.0 - held
    row["pair_chase_share"] = tank.pair_chases / max(tank.chases, 1)
    row["pair_near_share"] = tank.pair_chases_near / max(tank.pair_chases_seen, 1)
    row["farthest_m"], row["glass_cut_share"] = _largest_hold(state, floor)
    # The last strides may be watched a little past the waking time.
    row["watched_share"] = min(tank.watched_s / max(tank.awake, 1e-9), 1.0)
    row["awake_h"] = awake_h
    for k, name in enumerate(END_FIELDS):
        row[name] = state.ends[:, k].sum()
    return row


def food_shares(state: State) -> np.ndarray:
    """Return what each fish has eaten over what it needed, nan where food is not played."""
    need = np.asarray(state.tally.need)
    return np.where(need > 0.0, state.tally.food / np.where(need > 0.0, need, 1.0), math.nan)


def _outgrown_rows(state: State, floor: Floor, *, run: int) -> np.ndarray:
    rows = []
    for room, (first, count) in enumerate(floor.room_door):
        doors = slice(int(first), int(first + count))
        days = np.where(np.isfinite(state.outgrew[:, doors]), state.outgrew[:, doors], -1.0)
        gone = (state.fits[:, doors] == 0).all(axis=1) & (days > 0.0).any(axis=1)
        rows += [(run, i, room, float(days[i].max())) for i in np.flatnonzero(gone)]
    return np.array(sorted(rows), OUTGROWN_ROW)


def _breeding(row: np.ndarray, state: State) -> None:
    """Fill what became of pairs and their broods."""
    tank, tally = state.tank[0], state.tally
    row["paired"] = np.isfinite(tally.paired_day).any()
    row["pair_day"] = tally.paired_day.min()
    row["pairs"] = tank.pairs_formed
    row["pairs_broken"] = tank.pairs_broken
    row["spawnings"] = tank.spawnings
    for name, first in (("spawn_day", "first_spawn_day"), ("uprooted_day", "first_uproot_day")):
        row[name] = tank[first] if tank[first] < NEVER else math.inf
    for fate in ("raised", "eaten", "lost", "taken"):
        row[f"{fate}_broods"] = tank[fate]
    row["fry_raised"] = tank.fry_raised
    row["fry_taken"] = tank.fry_taken
    row["mate_by_mate"] = np.isfinite(tally.mate_hurt_day).any()
    row["mate_by_mate_day"] = tally.mate_hurt_day.min()
    row["mate_chase_share"] = tank.mate_chases / max(tank.chases, 1)
    row["guarded_m2"] = tank.guarded_area / tank.guarded_s if tank.guarded_s > 0.0 else math.nan
    row["uprooted"] = tank.uprooted


def _largest_hold(state: State, floor: Floor) -> tuple[float, float]:
    """Return the farthest swim from the site of the farthest reach, and what the glass cuts off."""
    holders = [f for f in state.fish if f.site >= 0 and f.presence == IN_TANK]
    if not holders:
        return math.nan, math.nan
    first = max(holders, key=lambda f: (f.reach, f.length))
    distance = floor.site_dist[int(first.site)]
    reachable = (floor.free[0] == 1) & (distance < 90.0)
    inside = reachable & (distance < first.reach)
    area = inside.sum() * floor.dims[3] ** 2
    cut = 1.0 - area / (math.pi * first.reach**2)
    return float(distance[reachable].max(initial=0.0)), float(max(cut, 0.0))


def _fish_rows(state: State, *, run: int) -> np.ndarray:
    fish, tally = state.fish, state.tally
    light_h = float(state.tank.light_off[0] - state.tank.light_on[0]) / 3600.0
    rows = np.zeros(len(fish), FISH_ROW)
    lived = np.maximum(tally.awake_s, 1e-9)
    rows["run"] = run
    rows["fish"] = np.arange(len(fish))
    rows["male"] = fish.sex
    rows["start_length_m"] = fish.start_length
    rows["length_m"] = fish.length
    rows["food_share"] = food_shares(state)
    rows["condition"] = fish.condition
    rows["swallowed"] = tally.swallowed
    rows["mass_g"] = fish.mass
    for name in ("aggression", "boldness"):
        rows[name] = fish[name]
    for name in ("dose", "minor_day", "serious_day", "death_day", "eaten", "moved_day"):
        rows[name] = tally[name]
    rows["lost_settling"] = lost_while_settling(state)
    rows["moved_out"] = np.isfinite(tally.moved_day)
    rows["night_visits"] = tally.night_visits
    rows["worst_injury"] = tally.worst
    rows["last_injury"] = [
        1.0 if fish.presence[i] == DEAD else injury_now(state, i) for i in range(len(fish))
    ]
    rows["hidden_h_per_day"] = light_h * tally.hidden_s / lived
    rows["corner_h_per_day"] = light_h * tally.corner_s / lived
    for name in ("chases", "bites"):
        rows[f"{name}_given"] = tally[f"{name}_given"]
        rows[f"{name}_taken"] = tally[f"{name}_taken"]
    rows["contests_won"] = tally.contests_won
    rows["contests_lost"] = tally.contests_lost
    rows["holds_site"] = fish.site
    rows["territory_m2"] = fish.area
    rows["paired_day"] = tally.paired_day
    rows["mate"] = fish.mate
    rows["spawnings"] = tally.spawnings
    rows["mate_hurt_day"] = tally.mate_hurt_day
    rows["young_eaten"] = tally.young_eaten
    return rows


def injury_now(state: State, i: int) -> float:
    """Return the injury fish `i` carries, 0 to 1."""
    return float(min(1.0, state.fish.skin[i] + state.fish.scales[i]))


def _day_rows(state: State, scenario: Scenario, *, run: int) -> np.ndarray:
    rows = np.zeros(math.ceil(scenario.days), DAY_ROW)
    days = state.days
    light_h = float(state.tank.light_off[0] - state.tank.light_on[0]) / 3600.0
    rows["run"] = run
    rows["day"] = np.arange(len(rows))
    rows["places_needed"] = np.maximum.accumulate(days.places_needed)
    for name in ("stage", "alive", "moved_out", "attacks", "chases", "bites", "contests"):
        rows[name] = days[name]
    rows["dose"] = days.harm
    rows["mean_injury"] = days.injury
    rows["hidden_h_per_fish"] = light_h * days.hidden_s / np.maximum(days.awake_s, 1e-9)
    rows["held_share"] = days.held_s / np.maximum(days.area_time, 1e-9)
    return rows
