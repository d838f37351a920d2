"""The reasons as a file: JSON with a documented schema."""

from __future__ import annotations

import json
from dataclasses import asdict

from viz.cautions import ABSOLUTE, ABSOLUTE_ALONE, CAUTIONS
from viz.sure_words import spread_words
from viz.why_results import WhyResults
from viz.why_words import why_words
from viz.words import in_words

FORMAT = "holdwater why 1"


def why_json(why: WhyResults) -> str:
    """Return an answer with its reasons as JSON text.

    Parameters
    ----------
    why
        What was found.

    Returns
    -------
    str
        Valid by `docs/why.schema.json`, with a newline at its end.
    """
    results = why.results
    plain = asdict(results)
    answer = [*in_words(results), *spread_words(results)]
    whole = {
        "format": FORMAT,
        **plain,
        "reasons": [asdict(one) for one in why.reasons],
        "sentences": [
            {"words": one.words, "sources": list(one.sources)} for one in [*answer, *why_words(why)]
        ],
        "cautions": [ABSOLUTE if len(results.designs) > 1 else ABSOLUTE_ALONE, *CAUTIONS],
    }
    return json.dumps(whole, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
