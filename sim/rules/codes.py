"""Small numbers that rules share: acts, ends of a chase, stages of a brood, phases of time."""

from __future__ import annotations

# What a fish is doing.
SWIM, PURSUE, FLEE, CONTEST = range(4)
ACTS = ("swimming", "chasing", "fleeing", "in a contest")

# Where a fish is in its history.
# Taken out by an event, or moved out by the keeper, a fish lives on and heals elsewhere.
NOT_YET, IN_TANK, DEAD, AWAY, MOVED_OUT = range(5)

# How a chase ended.
LEFT, LOST, HIDDEN, TIRED, SUBMITTED, KILLED = range(6)
CHASE_ENDS = (
    "left the territory",
    "lost from sight",
    "reached a hiding place",
    "tired",
    "submitted",
    "died",
)

# What followed from an attack.
DISPLAY_ONLY, CHASED, FOUGHT = range(3)

# How a bite was taken, on whose ground, and how far from a hiding place that the victim fits.
HARM_CONTEST, CHASED_OPEN, CHASED_WALL, CHASED_INSIDE = range(4)
HARM_WAYS = (
    "in a contest",
    "in a chase",
    "in a chase, against glass or stone",
    "in a hiding place that the biter passes into",
)
GROUND_OPEN, GROUND_BITER, GROUND_VICTIM, GROUND_OTHER, GROUND_PAIR = range(5)
GROUNDS = ("open ground", "the biter's", "the victim's own", "another's", "the pair's")
COVER_INSIDE, COVER_NEAR, COVER_REACH, COVER_MIDDLE, COVER_FAR, COVER_NONE = range(6)
COVER_BANDS = (
    "inside one",
    "under 10 cm",
    "10 to 20 cm",
    "20 to 40 cm",
    "over 40 cm",
    "none it fits",
)

# Stages of a brood.
NO_BROOD, COURTING, DIGGING, EGGS, WRIGGLERS, FRY, RESTING = range(7)
STAGES = ("none", "courting", "digging", "eggs", "wrigglers", "fry", "resting")

# Breeding modes.
OFF, ON, SPONTANEOUS = range(3)

# What the floor is made of.
SAND, GRAVEL, BARE = range(3)

# Phases of time.
WATCHED, LEAPT, NIGHT = range(3)

# Avoidance, 0 to 1, from which on a fish leans away.
SHUNNED = 0.02

# What a frightened or hungry fish swims to.
NOWHERE, TO_DOOR, TO_CORNER, TO_FOOD = range(4)

FEMALE, MALE = range(2)

# Kinds of site.
OPEN_FLOOR, CAVE, FLAT, EDGE = range(4)
