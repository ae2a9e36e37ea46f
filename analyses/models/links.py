"""Many-to-many ties of the laboratory, kept in versions like the records themselves."""

import pgtrigger

from analyses.models.results import Identification
from records.models.base import links, signed_with


@pgtrigger.register(signed_with("identification_id", "analyses_identification"))
@links
class IdentificationReading(Identification.readings.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True
