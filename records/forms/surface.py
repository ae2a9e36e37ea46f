"""What a map of a face asks for: the window it shows, and which traces are wanted."""

from typing import Any

from django import forms
from django.db.models import Count, Q

from records.choices import Family
from records.models import Campaign, Face, TraceKind, Zone
from records.surface import Choice, Window


class TraceChoice(forms.Form):
    """Filters of the map and of the list beside it."""

    q = forms.CharField(
        label="Find",
        required=False,
        widget=forms.TextInput(
            attrs={"type": "search", "placeholder": "number, kind or word", "data-key": "/"}
        ),
    )
    family = forms.MultipleChoiceField(
        label="Families", choices=Family, required=False, widget=forms.CheckboxSelectMultiple
    )
    kind = forms.ModelChoiceField(
        TraceKind.objects.none(), label="Kind", required=False, empty_label="Every kind"
    )
    zone = forms.ModelChoiceField(
        Zone.objects.none(), label="Zone", required=False, empty_label="The whole face"
    )
    campaign = forms.ModelChoiceField(
        Campaign.objects.none(), label="As drawn in", required=False, empty_label="The latest look"
    )

    def __init__(self, data: Any, *, face: Face) -> None:
        super().__init__(data, auto_id="choice_%s")
        standing = Q(traces__face=face, traces__withdrawn_at__isnull=True)
        fields: dict[str, Any] = self.fields
        fields["kind"].queryset = TraceKind.objects.filter(standing).annotate(
            many=Count("traces", filter=standing)
        )
        fields["kind"].label_from_instance = lambda kind: f"{kind.label} ({kind.many})"
        fields["zone"].queryset = Zone.objects.filter(face=face, withdrawn_at__isnull=True)
        fields["campaign"].queryset = Campaign.objects.filter(
            object_id=face.object_id, withdrawn_at__isnull=True
        )

    @property
    def narrows(self) -> bool:
        """Whether anything but words narrows the traces."""
        return any(self.data.get(name) for name in ("family", "kind", "zone", "campaign"))

    def choice(self) -> Choice:
        """What is asked for; a filter that names nothing of this face does not narrow."""
        self.is_valid()
        given = self.cleaned_data
        return Choice(
            families=given.get("family", ()),
            kind=given.get("kind"),
            zone=given.get("zone"),
            campaign=given.get("campaign"),
            words=given.get("q", ""),
        )


class WindowForm(forms.Form):
    """The part of a face that a map shows, and the size of its pixels."""

    xmin = forms.FloatField()
    ymin = forms.FloatField()
    xmax = forms.FloatField()
    ymax = forms.FloatField()
    mm_per_px = forms.FloatField(min_value=1e-6)
    behind = forms.BooleanField(required=False)

    def window(self) -> Window:
        """The window; only after `is_valid`."""
        given = self.cleaned_data
        return Window(**{name: given[name] for name in Window.__dataclass_fields__})
