r"""Feed: while there is food on the floor, it is the food that is fought over, patch by patch.

A meal is played in watched time. Each fish would eat :math:`F_i` = `appetite_times` of its need,

.. math:: n_i = s\, 30\,\mathrm{g}\,(W_i / 30\,\mathrm{g})^{0.86} \quad \text{g a day},

shared over the day's meals. A hungry fish in the open makes for the patch with most food for each
that is there, the nearer the better, less where a fish it avoids eats, and eats within reach at
:math:`F_i / T_e`; a calm one comes out of its cover for food. One that has been chased stays off
for a while of mean :math:`T_a`.

At the food a fish defends the food and nothing else. It can keep :math:`m` of :math:`n` others off
by spending the share :math:`m T_c / T_a` of its time on chases, and that pays

.. math:: v = \frac{1}{F_i} \Big[ \max_{m \le n} \min\Big(f_i, \frac{(1 - m T_c / T_a) Q}{1 + n - m}
              \Big) - \min\Big(f_i, \frac{Q}{1 + n}\Big) \Big]_+

with :math:`Q` the food left and :math:`f_i` what it would still eat. :math:`v`, times the claim's
fall with the other's distance from the patch, is its exposure. So too little food, food for all,
no company and too much company each leave nothing to gain; where the peak lies follows from
:math:`T_a / T_c`, the number one fish can keep off.

References
----------
Grantner1998 (exponent of metabolic need); Grant2002, Noel2005, Grant2000 (aggression peaks
between scarce and ample food, few and many competitors: not imposed, to be compared). The share of
mass a day is of aquaculture, in the evidence page; times and shares assumed.
"""

from __future__ import annotations

import math

from sim.compiler import rule
from sim.draws import FEED, chain, exponential, high_half, low_half
from sim.rules.claim import curve, exposure, layer_factor
from sim.rules.codes import FLEE, IN_TANK, NOWHERE, SWIM, TO_FOOD
from sim.rules.fear import come_out
from sim.rules.move import NO_WAY
from sim.state import State
from sim.tables import Floor

USUAL_MASS = 30.0  # g, at which the share of mass a day holds
SPREAD = 0.05  # m, assumed: how far food lies about its spot
KEEP_TO_PATCH = 1.3  # x, assumed: how much better another patch must be
AFTER_MEAL = 20.0  # s, assumed: how long a meal is watched once all is eaten
NEARNESS = 0.5  # m, assumed: distance that halves a patch's worth


@rule
def daily_need(state: State, i: int) -> float:
    """Return what a fish needs to eat in a day, g."""
    p = state.par[0]
    mass = state.fish[i].mass / USUAL_MASS
    return p.need_share * USUAL_MASS * math.exp(p.need_power * math.log(mass))


@rule
def defence_pays(state: State, full: float, wants: float, food: float, others: int) -> float:
    """Return what a fish would gain by keeping others off a patch, as a share of its fill.

    Parameters
    ----------
    state
        For the parameters.
    full, wants
        What it eats at a meal, and what it would still eat, g.
    food
        Food left in the patch, g.
    others
        Fish that make for it or eat there besides itself.

    Returns
    -------
    float
        0 to 1; 0 where it would gain nothing.
    """
    p = state.par[0]
    if full <= 0.0:
        return 0.0
    shared = min(wants, food / (1.0 + others))
    best = shared
    for m in range(1, others + 1):
        left = 1.0 - m * p.food_chase_time / p.food_away_time
        if left <= 0.0:
            break
        best = max(best, min(wants, left * food / (1.0 + others - m)))
    return (best - shared) / full


@rule
def find_ways(state: State, floor: Floor) -> None:
    """Give each patch the site nearest to it, whose table shows the way there."""
    for k in range(len(state.food)):
        spot = state.food[k]
        best = 1e12
        spot.site = -1
        for s in range(len(floor.site_kind)):
            dx = floor.site_xy[s, 0] - spot.x
            dy = floor.site_xy[s, 1] - spot.y
            if dx * dx + dy * dy < best:
                best = dx * dx + dy * dy
                spot.site = s


@rule
def at_patch(state: State, i: int, k: int, far: float) -> bool:
    """Return whether a fish is within `far` (m) of a patch, as seen from above."""
    dx = state.food[k].x - state.fish[i].x
    dy = state.food[k].y - state.fish[i].y
    return bool(dx * dx + dy * dy < far * far)


@rule
def meal_exposure(state: State, floor: Floor, i: int, j: int, d2: float) -> float:
    """Return how strongly fish `i` would drive off fish `j` during a meal, 0 to 1."""
    f = state.fish[i]
    if f.goal != TO_FOOD:
        return exposure(state, floor, i, j, d2)
    g = state.fish[j]
    near = state.par[0].own_space * f.length
    if f.pays <= 0.0 or g.goal != TO_FOOD or g.goal_index != f.goal_index:
        return 0.0
    if not at_patch(state, i, f.goal_index, near):
        return 0.0
    dx = state.food[f.goal_index].x - g.x
    dy = state.food[f.goal_index].y - g.y
    lost = curve(state, (dx * dx + dy * dy) / (near * near))
    return float(f.pays * lost * layer_factor(state, f.layer, g.layer))


@rule
def hungry_and_free(state: State, i: int) -> bool:
    """Return whether a fish may go for food: in the open, at leisure, hungry, not kept off."""
    f = state.fish[i]
    return bool(
        f.presence == IN_TANK
        and f.act == SWIM
        and f.hiding == 0
        and f.room < 0
        and f.appetite > 0.0
        and state.tank[0].clock >= f.off_food_until
    )


@rule
def worth_of(state: State, floor: Floor, i: int, k: int) -> float:
    """Return what a patch is worth going to, g for each fish there, less by the way and by fear."""
    f = state.fish[i]
    spot = state.food[k]
    if spot.food <= 0.0:
        return 0.0
    if spot.site >= 0 and floor.site_dist[spot.site, f.cell] > NO_WAY:
        return 0.0  # behind a divider
    crowd = spot.crowd
    if f.goal == TO_FOOD and f.goal_index == k:
        crowd -= 1
    dread = 0.0
    for j in range(len(state.fish)):
        g = state.fish[j]
        if j != i and g.presence == IN_TANK and g.goal == TO_FOOD and g.goal_index == k:
            dread = max(dread, state.pair[i, j].avoid)
    dx = spot.x - f.x
    dy = spot.y - f.y
    away = math.sqrt(dx * dx + dy * dy)
    if f.heat > 1.0 and f.site >= 0 and away > f.reach:
        return 0.0  # who guards a brood does not leave it for food
    worth = spot.food / (1.0 + crowd) * (1.0 - dread) / (1.0 + away / NEARNESS)
    if f.goal == TO_FOOD and f.goal_index == k:
        worth *= KEEP_TO_PATCH
    return float(worth)


@rule
def choose_patch(state: State, floor: Floor, i: int) -> None:
    """Let a hungry fish make for the patch it thinks best, or for none."""
    f = state.fish[i]
    best = 0.0
    choice = -1
    for k in range(len(state.food)):
        worth = worth_of(state, floor, i, k)
        if worth > best:
            best = worth
            choice = k
    if f.goal == TO_FOOD:
        state.food[f.goal_index].crowd -= 1
    f.goal = NOWHERE
    if choice >= 0:
        f.goal = TO_FOOD
        f.goal_index = choice
        state.food[choice].crowd += 1


@rule
def stay_off(state: State, i: int) -> None:
    """Keep a fish that is being chased off the food for a while."""
    f = state.fish[i]
    now = state.tank[0].clock
    if now >= f.off_food_until:
        key = chain(chain(f.key, FEED), 1000000 + state.tally[i].chases_taken)
        f.off_food_until = now + state.par[0].food_away_time * exponential(key)


@rule
def eat(state: State, floor: Floor, dt: float) -> None:
    """Let every fish that is at its patch eat; who eats together shares what is left."""
    p = state.par[0]
    for k in range(len(state.food)):
        state.food[k].asked = 0.0
    for turn in range(2):
        for i in range(len(state.fish)):
            f = state.fish[i]
            if f.presence != IN_TANK or f.act != SWIM or f.goal != TO_FOOD:
                continue
            spot = state.food[f.goal_index]
            if not at_patch(state, i, f.goal_index, 0.5 * f.length + SPREAD):
                continue
            bite = min(f.appetite, f.full * dt / p.eat_time)
            if turn == 0:
                spot.asked += bite
            elif spot.asked > 0.0:
                got = bite * min(1.0, spot.food / spot.asked)
                f.appetite -= got
                f.eaten_today += got
                state.tally[i].food += got
    for k in range(len(state.food)):
        spot = state.food[k]
        spot.food = max(0.0, spot.food - spot.asked)


@rule
def meal_look(state: State, floor: Floor, dt: float) -> None:
    """Let a look's time of a meal pass: come to the food, weigh whether it pays to defend, eat.

    Parameters
    ----------
    state, floor
        State of the run and tables of the layout.
    dt
        Time since the last look, s.
    """
    fish = state.fish
    p = state.par[0]
    for k in range(len(state.food)):
        state.food[k].crowd = 0
    for i in range(len(fish)):
        f = fish[i]
        if f.goal == TO_FOOD and f.act == SWIM and not hungry_and_free(state, i):
            f.goal = NOWHERE
        if f.presence == IN_TANK and f.goal == TO_FOOD:
            state.food[f.goal_index].crowd += 1
    for i in range(len(fish)):
        f = fish[i]
        f.pays = 0.0
        if f.presence != IN_TANK:
            continue
        if f.act == FLEE:
            stay_off(state, i)
        elif f.hiding == 1 and f.act == SWIM and f.appetite > 0.0:
            key = chain(chain(f.key, FEED), state.tank[0].tick)
            rate = (1.0 - f.fear) * (0.5 + f.boldness) * (0.1 + 0.9 * f.activity)
            if low_half(key) < 1.0 - math.exp(-rate * dt / p.food_call_time):
                come_out(state, floor, i, high_half(key))
        if hungry_and_free(state, i):
            choose_patch(state, floor, i)
    for i in range(len(fish)):
        f = fish[i]
        if f.presence == IN_TANK and f.goal == TO_FOOD:
            spot = state.food[f.goal_index]
            f.pays = defence_pays(state, f.full, f.appetite, spot.food, spot.crowd - 1)
    eat(state, floor, dt)
    t = state.tank[0]
    t.meal_s += dt
    left = 0.0
    for k in range(len(state.food)):
        left += state.food[k].food
    if left <= 0.0:
        t.until = min(t.until, t.clock + AFTER_MEAL)
