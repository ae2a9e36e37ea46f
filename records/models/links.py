"""Many-to-many ties between records, kept in versions like the records themselves."""

from records.models.base import links
from records.models.campaigns import Campaign
from records.models.events import Occurrence, Treatment


@links
class CampaignPerson(Campaign.people.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True


@links
class TreatmentPerson(Treatment.people.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True


@links
class TreatmentSource(Treatment.sources.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True


@links
class TreatmentMaterial(Treatment.materials.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True


@links
class OccurrenceSource(Occurrence.sources.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True
