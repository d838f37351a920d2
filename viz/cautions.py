"""What every face of the program says beside its numbers, in one place."""

from __future__ import annotations

# shown under every result; each line stands alone
CAUTIONS: tuple[str, ...] = (
    "This is a model. It plays what is known and assumed of such fish; your own fish decide.",
    "Whatever the numbers say, have a divider and a spare tank ready before the fish meet.",
    "Take a hurt fish out, and ask an aquatic veterinarian about it.",
    "A filled tank weighs more than a floor may bear: ask somebody qualified before you buy it.",
    "Ask an electrician about the equipment, and look up what your local codes allow.",
)

ABSOLUTE = (
    "How many fish are hurt hangs on an assumed harm per bite that no paper settles. Both tanks "
    "share it, so which of two tanks is the calmer rests on firmer ground than how bad either is."
)
ABSOLUTE_ALONE = (
    "How many fish are hurt hangs on an assumed harm per bite that no paper settles: take the "
    "level as rough, and compare with a second tank to learn which is the calmer."
)

ABSOLUTE_SWEEP = (
    "How many fish are hurt hangs on an assumed harm per bite that no paper settles. All points "
    "share it, so which of them is the calmer rests on firmer ground than how bad any of them is."
)

# shown under the keeper's sums; each line stands alone
SUMS_CAUTIONS: tuple[str, ...] = (
    "A filled tank weighs more than a floor may bear: ask a structural engineer about the building "
    "before you buy it. The sums do not know your joists.",
    "These are sums, not measurements: what counts is what your test kits read, in your water. Any "
    "ammonia that a kit can read says that the filter does not keep up (common practice, no "
    "source).",
    "Fish that gasp, clamp their fins or stop eating need their water tested at once, and an "
    "aquatic veterinarian.",
    "Ask an electrician about the equipment, and look up what your local codes allow.",
)
