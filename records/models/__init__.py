from records.models.amendments import Amendment
from records.models.arrivals import Arrival, FileCheck
from records.models.base import Record, Signable
from records.models.campaigns import Campaign, Coverage, Examination
from records.models.dates import Dated
from records.models.events import (
    Effect,
    Occurrence,
    StatementEvent,
    StatementTrace,
    Treatment,
    TreatmentArea,
)
from records.models.images import Image, Placement, PointProposal
from records.models.links import (
    CampaignPerson,
    OccurrenceSource,
    TreatmentMaterial,
    TreatmentPerson,
    TreatmentSource,
)
from records.models.mosaics import Mosaic, MosaicFrame, MosaicStep
from records.models.objects import Component, Face, Object, Zone
from records.models.reconstructions import Reconstruction, SetAside
from records.models.sources import Source, Statement
from records.models.traces import Relation, Sighting, Trace
from records.models.users import Person, User
from records.models.vocabulary import (
    Material,
    MaterialDate,
    OccurrenceKind,
    Technique,
    Term,
    TraceKind,
    TreatmentKind,
)

__all__ = [
    "Amendment",
    "Arrival",
    "Campaign",
    "CampaignPerson",
    "Component",
    "Coverage",
    "Dated",
    "Effect",
    "Examination",
    "Face",
    "FileCheck",
    "Image",
    "Material",
    "MaterialDate",
    "Mosaic",
    "MosaicFrame",
    "MosaicStep",
    "Object",
    "Occurrence",
    "OccurrenceKind",
    "OccurrenceSource",
    "Person",
    "Placement",
    "PointProposal",
    "Reconstruction",
    "Record",
    "Relation",
    "SetAside",
    "Sighting",
    "Signable",
    "Source",
    "Statement",
    "StatementEvent",
    "StatementTrace",
    "Technique",
    "Term",
    "Trace",
    "TraceKind",
    "Treatment",
    "TreatmentArea",
    "TreatmentKind",
    "TreatmentMaterial",
    "TreatmentPerson",
    "TreatmentSource",
    "User",
    "Zone",
]
