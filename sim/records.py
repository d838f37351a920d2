"""Records: what is kept of a fish, a pair, the tank, an attack, a chase and a day."""

from __future__ import annotations

import numpy as np

FISH = np.dtype(
    [
        # fixed for the run
        ("key", "u8"),  # names this fish to the draws
        ("species", "i8"),  # number among the species of the run
        ("sex", "i8"),
        ("length", "f8"),  # m
        ("mass", "f8"),  # g
        ("ripe_length", "f8"),  # m, at maturity
        ("depth", "f8"),  # m
        ("width", "f8"),  # m
        ("gape", "f8"),  # m, deepest fish it can swallow
        ("strength", "f8"),  # ln weight, weighed by sex
        ("quality", "f8"),  # ln weight, unseen
        ("daring", "f8"),  # ln weight
        ("aggression", "f8"),  # x attack rate
        ("boldness", "f8"),  # 0-1
        ("armour", "f8"),  # share of harm kept off
        ("shoaling", "f8"),  # 0-1
        ("activity", "f8"),  # by day, 0-1
        ("floor_share", "f8"),  # share of time near the floor
        ("middle_share", "f8"),
        ("cruise", "f8"),  # m/s
        ("burst", "f8"),  # m/s
        ("chase", "f8"),  # m/s
        ("territorial", "i8"),
        ("spawns_in", "i8"),  # kind of site
        ("join_time", "f8"),  # s
        ("dusk", "f8"),  # activity in the dim hours, 0-1
        ("night", "f8"),  # and in the dark
        ("owned", "i8"),  # site that it holds from the start; -1 none
        ("resident_s", "f8"),  # s that it has lived here before the start
        ("put_x", "f8"),  # where it is put in, m; -1 anywhere
        ("put_y", "f8"),
        # where it is
        ("presence", "i8"),
        ("x", "f8"),
        ("y", "f8"),
        ("head_x", "f8"),
        ("head_y", "f8"),
        ("speed", "f8"),
        ("pace", "f8"),  # x cruise
        ("layer", "i8"),
        ("cell", "i8"),
        ("room", "i8"),  # -1 outside
        ("compartment", "i8"),  # between dividers, from the left
        ("doorway_left", "f8"),  # unit exponential until it tries a doorway
        ("back_at", "f8"),  # s, when a fish that was moved out may come back
        # what it does
        ("act", "i8"),
        ("target", "i8"),
        ("act_until", "f8"),  # s
        ("act_start", "f8"),  # s
        ("rest_until", "f8"),  # s
        ("stamina", "f8"),  # 0-1
        ("unseen_time", "f8"),  # s, of the pursued
        ("chase_bites", "i8"),
        ("chase_wall", "i8"),
        ("risk", "f8"),  # bites to be expected of its chase in the open
        ("risk_x", "f8"),  # m, where; of its moments one, in proportion to their bites
        ("risk_y", "f8"),
        ("risk_way", "i8"),  # how it would be taken
        ("entries", "i8"),  # times that it went into the room of its victim in the chase
        ("stay", "f8"),  # s in there that were to be expected in all
        ("in_x", "f8"),  # m, where, the last time
        ("in_y", "f8"),
        ("in_wall", "i8"),  # 1 within 5 cm of glass or stone
        ("chase_cause", "i8"),  # row of the log
        ("won", "i8"),  # outcome of the contest under way, seen from this fish
        ("contest_contact", "f8"),  # s of biting and wrestling in it
        ("estimate", "f8"),  # what it believes of the other in it
        ("doubt", "f8"),
        # what it feels and seeks
        ("fear", "f8"),
        ("glance", "i8"),  # 1 where it was in the tank at the last look
        ("hiding", "i8"),
        ("goal", "i8"),
        ("goal_index", "i8"),
        ("calm", "f8"),  # calm shoaling fish in view
        ("calm_open", "f8"),  # calm from them (0-1), averaged over its time in the open
        ("calm_cover", "f8"),  # and in cover
        ("push_x", "f8"),
        ("push_y", "f8"),
        ("school_x", "f8"),
        ("school_y", "f8"),
        ("school_n", "f8"),
        ("hazard", "f8"),
        # what it has been through
        ("skin", "f8"),
        ("scales", "f8"),
        ("winning", "f8"),
        ("losing", "f8"),
        # what it holds
        ("site", "i8"),
        ("site_since", "f8"),
        ("reach", "f8"),  # m
        ("tether", "f8"),  # m
        ("heat", "f8"),
        ("mate", "i8"),
        ("ripe", "f8"),  # of a female, 1 when ready to spawn
        ("ripening", "f8"),  # s from a spawning until she is ready again, guarding nothing
        ("pair_left", "f8"),  # unit exponential until she chooses a mate
        ("choices", "i8"),  # of a mate so far, for keys
        ("lured", "i8"),  # row of the brood it is after, -1 none
        ("brood", "i8"),  # row of the broods this fish has a part in, -1 none
        ("area", "f8"),  # m2 of territory
        ("free_area", "f8"),  # m2 if nobody else held ground
        ("settle_left", "f8"),  # unit exponential
        ("challenge_left", "f8"),
        ("give_up_left", "f8"),
        ("events", "i8"),  # own-clock events so far, for keys
        ("cover", "f8"),  # chance of being in cover, carried through a leap
        # pooled from watched time
        ("shown", "f8"),  # watched chases by it, the old fading
        ("covered_pool", "f8"),
        ("covered_window", "f8"),
        ("hidden_pool", "f8"),
        ("corner_pool", "f8"),
        ("hidden_window", "f8"),
        ("corner_window", "f8"),
        # food, growth, temperature
        ("warmth", "f8"),  # x attack rate
        ("hunger", "f8"),  # 0-1
        ("condition", "f8"),  # share of its need that it has been eating, 1 is enough
        ("full", "f8"),  # g it would eat at the present meal
        ("appetite", "f8"),  # g it would still eat
        ("pays", "f8"),  # 0-1, what defending its patch would gain it
        ("off_food_until", "f8"),  # s
        ("eaten_today", "f8"),  # g
        ("hidden_before", "f8"),  # s, in cover up to last night
        ("awake_before", "f8"),  # s
        ("start_length", "f8"),  # m
        ("grown_length", "f8"),  # m, toward which it grows
        ("growth_rate", "f8"),  # 1/d
        ("mass_power", "f8"),  # exponent of length
    ],
    align=True,
)

TALLY = np.dtype(
    [
        ("chases_given", "i8"),
        ("chases_taken", "i8"),
        ("bites_given", "i8"),
        ("bites_taken", "i8"),
        ("contests_won", "i8"),
        ("contests_lost", "i8"),
        ("displays", "i8"),
        ("awake_s", "f8"),
        ("hidden_s", "f8"),
        ("corner_s", "f8"),
        ("dose", "f8"),  # injury received in all
        ("worst", "f8"),  # greatest injury carried
        ("minor_day", "f8"),
        ("serious_day", "f8"),
        ("death_day", "f8"),
        ("eaten", "i8"),
        ("paired_day", "f8"),
        ("mate_hurt_day", "f8"),  # first serious injury by its own mate
        ("spawnings", "i8"),
        ("young_eaten", "f8"),  # eggs and fry of others that it ate
        ("moved_day", "f8"),  # when the keeper first moved it out
        ("moves_out", "i8"),  # times it was taken or moved out
        ("night_visits", "i8"),  # to young in a nest, in the dark
        ("swallowed", "i8"),  # fish it has eaten
        ("food", "f8"),  # g eaten in all
        ("need", "f8"),  # g needed in all
        ("open_harm", "f8"),  # of the dose, taken on open ground
    ],
    align=True,
)

PAIR = np.dtype(
    [
        # what a look asks of a pair that is near, side by side
        ("slow", "f8"),  # attacks per second at exposure 1, row attacks column
        ("avoid", "f8"),  # row avoids column
        ("prey", "i8"),  # 1 where row can swallow column
        ("kind_reach", "f8"),
        ("window_exposure", "f8"),  # s, while the victim is in the open
        ("window_exposure_covered", "f8"),  # the same while the victim seeks or keeps cover
        ("likeness", "f8"),
        ("size_factor", "f8"),
        ("exposure", "f8"),  # pooled
        ("free", "f8"),  # pooled, s in which both were free and in the open
        ("exposure_covered", "f8"),
        ("free_covered", "f8"),
        ("rate", "f8"),  # exposure a second in the present leap, the victim in the open
        ("rate_covered", "f8"),
        ("saw", "f8"),  # watched chases by column that row saw, the old fading
        ("estimate", "f8"),  # row's memory of its advantage over column
        ("doubt", "f8"),  # variance of that
        ("met", "f8"),  # s, -1 never
        ("familiar", "f8"),
        ("ordinal", "i8"),  # attacks decided so far, for the draws
        ("bouts", "i8"),  # contests so far, kept at the lower row
        ("beaten", "i8"),  # 1 when row won the pair's last contest
        ("chases", "i8"),
        ("bites", "i8"),
        ("bites_noted", "i8"),  # of these, until the keeper last looked
        ("wins", "i8"),
        ("harm", "f8"),  # done by row to column
        ("harm_on", "f8"),  # done to row in the territory of column
    ],
    align=True,
)

# What a look asks of a fish for each other fish, gathered once and side by side. A row has no gaps,
# whose bytes a copy does not carry over. Indices of tables are unsigned: compiled code need not ask
# whether they count from the end.
LOOK = np.dtype(
    [
        ("x", "f8"),  # m
        ("y", "f8"),
        ("reach", "f8"),  # m2, squared distance from which on its body claims no water
        ("school_x", "f8"),  # m, summed over those of its school that it sees
        ("school_y", "f8"),
        ("school_n", "f8"),
        ("claim_to", "f8"),  # m to swim from its site, from where on it claims nothing
        ("site", "i8"),  # that it would defend now, -1 none
        ("room", "i8"),  # -1 outside
        ("cell", "u4"),
        ("layer", "u4"),
        ("species", "i4"),
        ("free", "i4"),  # 1 where nobody pursues or contests it
        ("schools", "i8"),  # 1 where it keeps to its kind
        ("fellow", "i8"),  # row of the next of its school, -1 where it is the last
    ],
    align=True,
)

TANK = np.dtype(
    [
        ("seed", "u8"),
        ("clock", "f8"),  # s since midnight of day 0
        ("begun", "i8"),  # 1 once the fish of the first day are in
        ("tick", "i8"),
        ("phase", "i8"),
        ("until", "f8"),  # end of the window, gap or night
        ("stop_at", "f8"),  # s, when something is done to the tank from outside
        ("burn_until", "f8"),
        ("leapt", "i8"),  # 1 when time was leapt since the last window
        ("stands_for", "f8"),  # waking seconds that the present window speaks for
        ("gap_left", "f8"),  # waking seconds of the gap that the night cut in two
        ("awake", "f8"),  # waking seconds so far
        ("last_change", "f8"),  # waking seconds at the last change
        ("changed", "i8"),
        ("changes", "i8"),
        ("pool_time", "f8"),
        ("pool_weight", "f8"),  # of the windows that are pooled
        ("pool_square", "f8"),  # sum of the squares of their weights
        ("window_time", "f8"),
        ("windows", "i8"),
        ("pieces", "i8"),
        ("watched_s", "f8"),
        ("light_on", "f8"),  # s after midnight
        ("light_off", "f8"),
        ("end", "f8"),  # s
        ("next_area", "f8"),
        ("held_now", "f8"),  # share of the floor held
        ("since_beat", "i8"),  # ticks since the last slow update
        # breeding
        ("breeding", "i8"),  # 0 off, 1 on from a day, 2 spontaneous
        ("stage", "i8"),  # of the brood that is farthest on
        ("substrate", "i8"),
        ("asked_site", "i8"),  # where pairs are to spawn, -1 they choose
        ("ripened_at", "f8"),  # s, the clock at the last ripening
        ("beats", "i8"),  # slow updates of the broods, for keys
        # what is done to the tank
        ("furniture", "i8"),  # stage of the furniture
        ("next_event", "i8"),  # in the order of time
        ("stretch", "i8"),  # of those that somebody watches: the present or the coming one
        ("next_stretch", "i8"),  # that is to be begun or ended
        ("watch_until", "f8"),  # s, no gap before
        ("next_check", "f8"),  # s, the keeper's next look
        ("stir", "f8"),  # what a water change adds to the attack hazard, as a share
        ("stir_fade", "f8"),  # s
        ("dim", "f8"),  # s of dusk at either end of the light
        ("places_needed", "i8"),  # spare places wanted at once, the most so far
        ("needed_day", "f8"),  # first day on which one was wanted
        ("short_day", "f8"),  # and on which none was left
        # counts
        ("attacks", "i8"),
        ("chases", "i8"),
        ("bites", "i8"),
        ("contests", "i8"),
        ("contest_s", "f8"),
        ("displays", "i8"),
        ("deaths", "i8"),
        ("pair_chases", "i8"),
        ("pair_chases_seen", "i8"),  # of them watched
        ("pair_chases_near", "i8"),  # and begun within half the reach of the brood
        ("pairs_formed", "i8"),
        ("pairs_broken", "i8"),
        ("first_pair_day", "f8"),
        ("first_spawn_day", "f8"),
        ("spawnings", "i8"),
        ("raised", "i8"),  # broods
        ("eaten", "i8"),
        ("lost", "i8"),
        ("taken", "i8"),
        ("fry_raised", "f8"),
        ("fry_taken", "f8"),
        ("mate_chases", "i8"),
        ("guarded_area", "f8"),  # m2 of a pair with young, times seconds
        ("guarded_s", "f8"),
        ("uprooted", "i8"),  # plants
        ("first_uproot_day", "f8"),
        ("held_s", "f8"),  # share of the floor held, times seconds
        ("area_time", "f8"),
        ("log_rows", "i8"),
        ("pool_rows", "i8"),
        # food and growth
        ("growing", "i8"),
        ("growth_speed", "f8"),  # x growth rate, by temperature
        ("fed", "i8"),  # 1 where meals are played
        ("ration", "f8"),  # g a day for each g of fish; 0 as much as is needed
        ("meal", "i8"),  # 1 during a meal
        ("meals", "i8"),
        ("next_meal", "f8"),  # s
        ("stands_kept", "f8"),  # `stands_for` of the gap that a meal cut in two
        ("meal_s", "f8"),
        ("meal_attacks", "i8"),
        ("food_attacks", "i8"),  # of those, over food
        # switches: 1 takes the mechanism away
        ("no_assessment", "i8"),
        ("no_learning", "i8"),
        ("no_occlusion", "i8"),
        ("no_hiding", "i8"),
        ("no_brood", "i8"),
    ],
    align=True,
)

BROOD = np.dtype(
    [
        ("there", "i8"),  # 1 while a pair stands in this row
        ("mother", "i8"),
        ("father", "i8"),
        ("stage", "i8"),
        ("stage_since", "f8"),  # s
        ("stage_until", "f8"),  # s
        ("place", "i8"),  # site where the young are
        ("nest", "i8"),  # site where they were laid
        ("asked", "i8"),  # site asked for, -1 the pair chooses
        ("eggs_s", "f8"),
        ("wrigglers_s", "f8"),
        ("fry_s", "f8"),
        ("spawnings", "i8"),
        ("fry_left", "f8"),  # unit exponential until the next move of the fry
        ("fry_moves", "i8"),
        ("laid", "f8"),  # eggs
        ("young", "f8"),  # eggs, wrigglers or fry left
        ("eaten", "f8"),
        ("fails_at", "f8"),  # s, when the brood fails of itself
        ("bond_left", "f8"),  # unit exponential until the pair breaks
        ("visit_pool", "f8"),  # s of watched time that `VISIT` was pooled over
        ("visit_window", "f8"),
    ],
    align=True,
)

KIND = np.dtype(
    [
        ("spawns", "i8"),  # 1 where its breeding is played
        ("digs", "i8"),
        ("eggs_s", "f8"),
        ("wrigglers_s", "f8"),
        ("fry_s", "f8"),
        ("interval_s", "f8"),  # from spawning to spawning
        ("clutch", "f8"),  # eggs
        ("clutch_length", "f8"),  # m, of the female that lays so many
        ("survival", "f8"),  # share of the eggs that become independent young
        ("fellow", "i8"),  # scratch: row of `looks` of the first of a school, -1 none
        # scratch: what is pooled of those that hold no ground, toward one attacker
        ("seen", "f8"),
        ("seen_free", "f8"),
        ("seen_covered", "f8"),
        ("seen_free_covered", "f8"),
    ],
    align=True,
)

# Time that a fish spends, free to eat, at a brood that is not its own.
VISIT = np.dtype([("window", "f8"), ("pooled", "f8")], align=True)

PLANT = np.dtype(
    [("key", "u8"), ("x", "f8"), ("y", "f8"), ("uprooted", "i8"), ("day", "f8")], align=True
)

LOG = np.dtype(
    [
        ("time", "f8"),  # s
        ("attacker", "i8"),
        ("victim", "i8"),
        ("outcome", "i8"),
        ("watched", "i8"),
        ("stage", "i8"),
        ("claim", "f8"),
        ("rate", "f8"),  # 1/s, parameter
        ("temperament", "f8"),
        ("heat", "f8"),
        ("likeness", "f8"),
        ("size_factor", "f8"),
        ("learned", "f8"),
        ("x", "f8"),
        ("y", "f8"),
        ("to_cover", "f8"),  # m to the nearest hiding place it fits
        ("bites", "i8"),
        ("wall_bites", "i8"),
        ("end", "i8"),
        ("seconds", "f8"),
        ("harm", "f8"),
    ],
    align=True,
)

POOL = np.dtype(
    [
        ("attacker", "i8"),
        ("victim", "i8"),
        ("end", "i8"),
        ("seconds", "f8"),
        ("x", "f8"),
        ("y", "f8"),
        ("risk", "f8"),  # and so on, as of its pursuer
        ("risk_x", "f8"),  # m; the end of a chase that brought no risk in the open
        ("risk_y", "f8"),
        ("risk_way", "i8"),
        ("entries", "i8"),
        ("stay", "f8"),
        ("in_x", "f8"),
        ("in_y", "f8"),
        ("in_wall", "i8"),
        ("weight", "f8"),  # root of the waking seconds its window spoke for, fading
    ],
    align=True,
)

DAY = np.dtype(
    [
        ("attacks", "i8"),
        ("chases", "i8"),
        ("bites", "i8"),
        ("contests", "i8"),
        ("harm", "f8"),
        ("injury", "f8"),  # mean over the living, at lights off
        ("hidden_s", "f8"),
        ("awake_s", "f8"),
        ("held_s", "f8"),
        ("area_time", "f8"),
        ("stage", "i8"),
        ("alive", "i8"),  # and in the tank
        ("moved_out", "i8"),  # by the keeper, at lights off
        ("places_needed", "i8"),  # the most so far
    ],
    align=True,
)

FOOD = np.dtype(
    [
        ("x", "f8"),  # m
        ("y", "f8"),
        ("site", "i8"),  # nearest site, whose table shows the way
        ("food", "f8"),  # g left
        ("crowd", "i8"),  # fish that make for it or eat there
        ("asked", "f8"),  # g those within reach would eat in a look
    ],
    align=True,
)

STRETCH = np.dtype(
    [
        ("start", "f8"),  # s
        ("end", "f8"),  # s, as it was asked for
        ("ended", "f8"),  # s, as it was; NEVER before
        ("first_act", "f8"),  # s; NEVER before
        ("until_decided", "i8"),  # 1 where it ends when somebody has won
        ("over", "i8"),
        ("missed", "i8"),  # 1 where a fish of the meeting was not to be had
        ("winner", "i8"),  # of the first contest or retreat; -1 before
        ("loser", "i8"),
        ("decided_at", "f8"),  # s
    ],
    align=True,
)

SEEN = np.dtype(
    [
        ("displays", "i8"),  # acts of row toward column
        ("bites", "i8"),
        ("wrestles", "i8"),
        ("chases", "i8"),
        ("contests", "i8"),  # that row opened and that ended
        ("contest_s", "f8"),
        ("display_s", "f8"),
        ("biting_s", "f8"),
        ("wrestling_s", "f8"),
    ],
    align=True,
)

SETTINGS = np.dtype(
    [
        ("tick", "f8"),  # s
        ("micro", "i8"),  # sub-steps of a chase in a tick
        ("look_every", "i8"),  # ticks
        ("beat_every", "i8"),  # ticks between slow updates while watched
        ("window", "f8"),  # s
        ("burn", "f8"),  # s
        ("gap_share", "f8"),
        ("gap_least", "f8"),  # s
        ("gap_most", "f8"),  # s
        ("late", "f8"),  # s since the start, from when on gaps are longer
        ("late_gaps", "f8"),  # times as long
        ("pool_keep", "f8"),
        ("piece", "f8"),  # s
        ("piece_events", "f8"),  # expected attacks of the busiest pair in a piece
        ("watch_all", "i8"),  # 1 watches every waking second
        ("varied", "i8"),  # 1 when what nobody has measured is drawn; no rule reads it
    ],
    align=True,
)

DUE = np.dtype([("time", "f8"), ("attacker", "i8"), ("victim", "i8")], align=True)

# Ways a bite is taken, whose ground, brood stages, distances to cover: as named in `rules.codes`.
HARM_SHAPE = (4, 5, 7, 6)
BROOD_ROWS = 8  # pairs at a time
DUE_ROWS = 64
LOG_ROWS = 512
POOL_ROWS = 256
