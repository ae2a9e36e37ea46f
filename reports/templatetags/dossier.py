"""Words that only print needs: uncertain dates as briefly as they can be said."""

from django import template

from records.history import edtf
from records.reconstruction.telling import span_in_words

register = template.Library()


@register.filter
def when(text: str) -> str:
    """An uncertain date in few words: '1924', 'about 1911', 'March 1951 to 1952', 'until 1930'."""
    if not text:
        return "no date"
    if "/" not in text:
        return _part(text)
    start, end = text.split("/")
    if start in {"", ".."}:
        return f"until {_part(end)}"
    if end in {"", ".."}:
        return f"from {_part(start)} on"
    return _joined(_part(start), _part(end))


def _joined(start: str, end: str) -> str:
    """'14 to 18 June 2021': what both dates end with is said once."""
    if start == end:
        return start
    first, last = start.split(), end.split()
    while len(first) > 1 and len(last) > 1 and first[-1] == last[-1]:
        first.pop()
        last.pop()
    return f"{' '.join(first)} to {end}"


def _part(text: str) -> str:
    """One date without its qualifiers, which become words."""
    plain = text.rstrip("~?%")
    read = edtf.read(plain)
    words = span_in_words(read.earliest, read.latest)
    for opening in ("in the years ", "in ", "on "):
        words = words.removeprefix(opening)
    about = "about " if text[-1] in "~%" else ""
    return f"{about}{words}" + (", perhaps" if text[-1] in "?%" else "")
