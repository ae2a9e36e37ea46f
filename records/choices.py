"""Closed lists that the program itself reasons with.

What a department may extend (kinds of trace, techniques, materials …) is vocabulary, kept as data.
"""

from django.db.models import IntegerChoices, TextChoices


class Role(TextChoices):
    CONSERVATOR = "conservator", "Conservator"
    SCIENTIST = "scientist", "Scientist"
    COMMITTEE = "committee", "Committee member"
    ADMINISTRATOR = "administrator", "Administrator"


class Family(TextChoices):
    ALTERATION = "alteration", "Alteration"
    INTERVENTION = "intervention", "Intervention"
    MAKING = "making", "Making"


class Shape(TextChoices):
    POINT = "point", "Point"
    LINE = "line", "Line"
    POLYGON = "polygon", "Area"


class TechniqueGroup(TextChoices):
    IMAGING = "imaging", "Imaging"
    SURFACE = "surface", "Surface examination"
    ANALYSIS = "analysis", "Analysis"


class ObjectKind(TextChoices):
    CANVAS = "canvas", "Painting on canvas"
    PANEL = "panel", "Painting on panel"
    WALL = "wall", "Wall painting"
    SCULPTURE = "sculpture", "Polychrome sculpture"
    PAPER = "paper", "Work on paper"
    TEXTILE = "textile", "Textile"
    OTHER = "other", "Other"


class FaceKind(TextChoices):
    RECTO = "recto", "Recto"
    VERSO = "verso", "Verso"
    EDGE = "edge", "Edge"
    UNROLLED = "unrolled", "Unrolled surface"
    OTHER = "other", "Other side"


class CampaignPurpose(TextChoices):
    SURVEY = "survey", "Condition survey"
    STUDY = "study", "Technical study"
    TREATMENT = "treatment", "Treatment project"
    LOAN = "loan", "Loan or transport check"
    MONITORING = "monitoring", "Monitoring"


class Seen(TextChoices):
    SEEN = "seen", "Seen"
    NOT_SEEN = "not_seen", "Not seen"
    UNCLEAR = "unclear", "Unclear"


class Order(TextChoices):
    LIES_OVER = "lies_over", "lies over"
    CUTS_THROUGH = "cuts_through", "cuts through"
    FILLS = "fills", "fills"


class Strength(TextChoices):
    FIRM = "firm", "Firm"
    LIKELY = "likely", "Likely"
    TENTATIVE = "tentative", "Tentative"


class Standing(TextChoices):
    DOCUMENTED = "documented", "Documented in a source"
    INFERRED = "inferred", "Inferred from traces alone"


class EffectKind(TextChoices):
    PRODUCED = "produced", "made"
    REMOVED = "removed", "removed"
    ALTERED = "altered", "altered"


class SourceKind(TextChoices):
    LETTER = "letter", "Letter"
    INVOICE = "invoice", "Invoice"
    REPORT = "report", "Report"
    CATALOGUE = "catalogue", "Catalogue"
    NEWSPAPER = "newspaper", "Newspaper"
    INVENTORY = "inventory", "Inventory"
    PHOTOGRAPH = "photograph", "Photograph"
    LABEL = "label", "Label or inscription"
    INTERVIEW = "interview", "Spoken account"
    OTHER = "other", "Other"


class Reliability(IntegerChoices):
    """How far a source can be trusted, by closeness to what it tells. Common practice."""

    FIRST_HAND = 1, "First hand, made at the time"
    LATER_FIRST_HAND = 2, "First hand, written later"
    SECOND_HAND = 3, "Second hand"
    HEARSAY = 4, "Hearsay or unsigned"


class StatementKind(TextChoices):
    """What a source says, as the history engine reads it (records/history/README.md)."""

    DATED_EVENT = "dated_event", "an event is dated"
    DATED_MADE = "dated_made", "the making of a trace is dated"
    DATED_GONE = "dated_gone", "the end of a trace is dated"
    SEEN = "seen", "a trace was there at an event"
    NOT_SEEN = "not_seen", "a trace was not there at an event"
    MADE_DURING = "made_during", "a trace was made during one of some events"
    GONE_DURING = "gone_during", "a trace was removed during one of some events"
    PRECEDES = "precedes", "one event came before another"
    WITHIN = "within", "one event lay within another"
    LASTS = "lasts", "an event lasted so long"
    TOGETHER = "together", "traces were made at about the same time"


class ImageKind(TextChoices):
    TECHNICAL = "technical", "Technical image"
    HISTORICAL = "historical", "Historical photograph"
    SECTION = "section", "Photograph of a sample"
    DOCUMENT = "document", "Scan of a document"
    DETAIL = "detail", "Detail or overall view"


class ArrivalState(TextChoices):
    """How far a file is on its way into the records."""

    ARRIVING = "arriving", "arriving"
    WAITING = "waiting", "waiting to be checked"
    CHECKING = "checking", "being checked"
    KEPT = "kept", "kept"
    KNOWN = "known", "there already"
    REFUSED = "refused", "refused"


class UncertaintyBasis(TextChoices):
    """How the stated uncertainty of a placement was reached."""

    LEFT_OUT = "left_out", "each point foretold by the others"
    RESIDUALS = "residuals", "what is left at the points"
    STATED = "stated", "stated by hand"


class Trust(TextChoices):
    """Which evidence a reconstruction rests on."""

    FIRM = "firm", "Firm only"
    LIKELY = "likely", "Firm and likely"
    ALL = "all", "All evidence"


class MaterialDateKind(TextChoices):
    FIRST_ATTESTED = "first_attested", "First attested use"
    COMMON_FROM = "common_from", "Common from"
    COMMON_UNTIL = "common_until", "Common until"
    LAST_ATTESTED = "last_attested", "Last attested use"


class MosaicLayout(TextChoices):
    """Where the frames of a mosaic lie before anything is measured."""

    GRID = "grid", "Rows and columns"
    STAGE_PX = "stage_px", "A table of positions in pixels (column, row downwards)"
    STAGE_MM = "stage_mm", "A table of positions in millimetres (x to the right, y up)"


class TakingOrder(TextChoices):
    """In which order the frames of a grid were taken, from the upper left corner."""

    ROWS = "rows", "Row by row, each from the left"
    ROWS_BACK = "rows_back", "Row by row, there and back"
    COLUMNS = "columns", "Column by column, each from the top"
    COLUMNS_BACK = "cols_back", "Column by column, there and back"


class Freedom(TextChoices):
    """How a frame may lie in a mosaic."""

    SHIFT = "shift", "Shifted only (a stage, films laid by a frame)"
    TURN = "turn", "Shifted, a little turned, a little larger or smaller"
    TILT = "tilt", "… and the camera a little tilted, differently for each frame"


class Lens(TextChoices):
    NONE = "none", "None (films, scanners, corrected already)"
    GIVEN = "given", "Given as k1 and k2"
    ESTIMATED = "estimated", "Worked out from the overlaps"


class FrameRole(TextChoices):
    FRAME = "frame", "Frame"
    DARK = "dark", "Dark exposure"
    FLAT = "flat", "Exposure of an even field"


class MosaicStage(TextChoices):
    """How far the work on a mosaic is; steps are named by the stage that they belong to."""

    NEW = "new", "Not begun"
    FETCHING = "fetching", "Frames are fetched"
    FRAMES = "frames", "Frames are checked"
    OFFSETS = "offsets", "Overlaps are searched"
    TIES = "ties", "Overlaps are measured"
    BLOCKS = "blocks", "The mosaic is written"
    JOINING = "joining", "The mosaic is put together"
    READY = "ready", "Ready"
    FAILED = "failed", "Failed"
