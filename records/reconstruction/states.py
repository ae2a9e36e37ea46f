"""The object on a day: which traces were there, were not, or may have been."""

from datetime import date
from typing import Any

from records import history
from records.models import Object
from records.reconstruction.gather import gather


def traces_on(item: Object, day: date) -> dict[int, str]:
    """State of every standing trace on that day: 'present', 'absent' or 'possible', by its key.

    Rests on all evidence in the records as they are now.
    """
    return states(gather(item).case(), day)


def states(case: dict[str, Any], day: date) -> dict[int, str]:
    """The same for a case that is there already."""
    found = history.state(history.Case.from_json(case), day)
    return {int(trace.removeprefix("trace:")): state for trace, state in found.items()}
