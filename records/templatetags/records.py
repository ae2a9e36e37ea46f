"""Words and marks that templates share: rooms, states, dates, measured values.

Nothing here decides anything; it says in one way what the records hold.
"""

import re
from datetime import date
from typing import Any, NamedTuple

from django import template
from django.urls import NoReverseMatch, reverse
from django.utils.formats import date_format
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from records import quantities
from records.choices import ImageKind
from records.history import edtf
from records.models import Image, Object, User

register = template.Library()
COUNTS = re.compile(r"(?<=[A-Za-z)\]])[0-9]+")
BELOW = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
IN_BRACKETS = re.compile(r" \([^()]*\)")


class Room(NamedTuple):
    """A room of an object's pages."""

    code: str
    name: str
    key: str
    committee: bool = False


ROOMS = (
    Room("surface", "Surface", "s"),
    Room("history", "History", "h"),
    Room("treatments", "Treatments", "t"),
    Room("laboratory", "Laboratory", "l"),
    Room("images", "Images", "i"),
    Room("papers", "Papers", "p"),
    Room("dossiers", "Dossiers", "d", committee=True),
)

# Each word that says how far something holds: its mark, and its colour.
MARKS: dict[str, tuple[str, str]] = {
    "accepted": ("solid", "verdigris"),
    "signed": ("solid", "verdigris"),
    "ready": ("solid", "verdigris"),
    "firm": ("solid", "ink"),
    "certain": ("solid", "ink"),
    "seen": ("solid", "ink"),
    "documented": ("solid", "ink"),
    "present": ("solid", "ink"),
    "proposed": ("hatched", "ochre"),
    "undecided": ("hatched", "ochre"),
    "likely": ("hatched", "ink"),
    "tentative": ("hatched", "ochre"),
    "probable": ("hatched", "ink"),
    "possible": ("hatched", "ochre"),
    "unclear": ("hatched", "ochre"),
    "inferred": ("hatched", "ochre"),
    "building": ("hatched", "smalt"),
    "waiting": ("hollow", "ochre"),
    "queued": ("hollow", "ochre"),
    "not_seen": ("hollow", "ink"),
    "absent": ("hollow", "ink"),
    "not_examined": ("struck", "lead"),
    "not_recorded": ("struck", "lead"),
    "rejected": ("crossed", "madder"),
    "failed": ("crossed", "madder"),
    "conflict": ("crossed", "madder"),
    "withdrawn": ("struck", "lead"),
}


@register.simple_tag
def rooms(item: Object, user: User, current: str = "") -> list[dict[str, Any]]:
    """The rooms of an object that this person may enter."""
    return [
        {
            "name": room.name,
            "key": room.key,
            "url": reverse(f"object-{room.code}", args=[item.pk]),
            "current": room.code == current,
        }
        for room in ROOMS
        if room.committee or user.sees_records
    ]


@register.simple_tag
def label_picture(item: Object) -> Image | None:
    """The picture on an object's label: the first photograph in visible light that has one made.

    A photograph of a sample and a scan do not show the object.
    """
    return (
        Image.objects.filter(object=item, withdrawn_at__isnull=True)
        .exclude(pyramid="")
        .exclude(kind__in=[ImageKind.SECTION, ImageKind.DOCUMENT])
        .order_by("examination__technique__group", "kind", "date_earliest", "pk")
        .first()
    )


@register.simple_tag
def status(code: str, words: str = "") -> SafeString:
    """A state as a mark and a word: solid when certain, hatched when possible.

    `words` stand for the code where it would not read well. An unknown code is shown without mark.
    """
    said = words or code.replace("_", " ")
    mark, tone = MARKS.get(code, ("", ""))
    if not mark:
        return format_html("<span>{}</span>", said)
    return format_html('<span class="status {} tone-{}">{}</span>', mark, tone, said)


@register.filter
def edtf_words(text: str) -> SafeString:
    """An uncertain date in words, with what was typed beside it where the two differ."""
    if not text:
        return mark_safe('<span class="soft">no date</span>')
    words = edtf.describe(text)
    if words == text:
        return format_html("<time>{}</time>", text)
    return format_html('<time>{}</time> <span class="edtf">{}</span>', words, text)


@register.filter
def edtf_short(text: str) -> str:
    """An uncertain date in words alone, without what its marks are taken to mean."""
    return IN_BRACKETS.sub("", edtf.describe(text)) if text else ""


@register.filter
def formula(text: str) -> str:
    """A chemical formula with its counts below the line: TiO₂, CaSO₄·2H₂O."""
    return COUNTS.sub(lambda count: count[0].translate(BELOW), text)


@register.filter
def day(value: date | None) -> str:
    """A day written out, for bounds: '1 March 1951'."""
    return date_format(value, "j F Y") if value else ""


@register.filter
def area(mm2: float | None, uncertainty_mm2: float | None = None) -> str:
    """Square millimetres with a unit that suits the size; nothing for None."""
    return "" if mm2 is None else quantities.area(mm2, uncertainty_mm2)


@register.filter
def length_mm(mm: float | None, uncertainty_mm: float | None = None) -> str:
    """Millimetres with a unit that suits the size; nothing for None."""
    return "" if mm is None else quantities.length(mm, uncertainty_mm)


@register.filter
def millimetres(mm: float | None) -> str:
    """An error or the size of a pixel, always in mm, to two digits; nothing for None."""
    return "" if mm is None else quantities.millimetres(mm)


@register.filter
def share(part: float, whole: float) -> str:
    """A part of a whole in per cent."""
    return quantities.share(part, whole)


@register.filter
def file_size(size: int) -> str:
    """Bytes in a unit that suits them."""
    return quantities.file_size(size)


@register.simple_tag
def place(name: str, *args: Any) -> str:
    """The address of a page, or '' where this installation has none."""
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""


@register.simple_tag(takes_context=True)
def with_query(context: template.Context, **changes: Any) -> str:
    """The present query string with some of its values replaced; '' takes a value out."""
    query = context["request"].GET.copy()
    for name, value in changes.items():
        if value in ("", None):
            query.pop(name, None)
        else:
            query[name] = value
    return f"?{query.urlencode()}"
