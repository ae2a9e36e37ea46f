"""Many-to-many ties between records, kept in versions like the records themselves."""

import pgtrigger

from records.models.base import links, signed_with
from records.models.campaigns import Campaign
from records.models.events import Occurrence, Treatment

of_signed_treatment = pgtrigger.register(signed_with("treatment_id", "records_treatment"))


@links
class CampaignPerson(Campaign.people.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True


@of_signed_treatment
@links
class TreatmentPerson(Treatment.people.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True


@of_signed_treatment
@links
class TreatmentSource(Treatment.sources.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True


@of_signed_treatment
@links
class TreatmentMaterial(Treatment.materials.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True


@links
class OccurrenceSource(Occurrence.sources.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True
