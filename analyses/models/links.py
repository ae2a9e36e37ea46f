"""Many-to-many ties of the laboratory, kept in versions like the records themselves."""

from analyses.models.results import Identification
from records.models.base import links


@links
class IdentificationReading(Identification.readings.through):  # type: ignore[name-defined]
    class Meta:
        proxy = True
