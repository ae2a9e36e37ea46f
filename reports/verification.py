"""Whether a file is a dossier as it was made, by its SHA-256."""

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from records.fixity import sha256
from reports.choices import DossierState
from reports.models import Dossier

# The PDF's own identifier, as text or as hexadecimal digits in the file's trailer.
CLAIM = re.compile(
    rb"antequem-dossier-(\d+)|" + b"antequem-dossier-".hex().encode() + rb"((?:3[0-9])+)", re.I
)
POINTER = re.compile(rb"startxref\s+(\d+)")
END_BYTES, TRAILER_BYTES = 64, 4096


class Outcome(StrEnum):
    SAME = "same"
    DIFFERS = "differs"
    UNKNOWN = "unknown"
    MISSING = "missing"


@dataclass(frozen=True)
class Verdict:
    """What was found, in words, and the dossier that the file is or claims to be."""

    outcome: Outcome
    words: str
    sha256: str
    dossier: Dossier | None = None


def verify_file(file: Any, expected: Dossier | None = None) -> Verdict:
    """Compare a file with the dossiers kept here, or with the one that it is expected to be."""
    digest = sha256(file)
    known = Dossier.objects.filter(sha256=digest, state=DossierState.READY).first()
    if known and (expected is None or known == expected):
        return Verdict(
            Outcome.SAME, f"The file is dossier {known.pk} as it was made.", digest, known
        )
    if known:
        return Verdict(
            Outcome.DIFFERS,
            f"The file is another dossier, number {known.pk}, as it was made.",
            digest,
            known,
        )
    if expected:
        return Verdict(
            Outcome.DIFFERS,
            f"The file is not dossier {expected.pk} as it was made: its content differs.",
            digest,
            expected,
        )
    if claimed := _claimed(file):
        return Verdict(
            Outcome.DIFFERS,
            f"The file says that it is dossier {claimed.pk}, but its content differs from the one"
            " made.",
            digest,
            claimed,
        )
    return Verdict(Outcome.UNKNOWN, "No dossier kept here has this content.", digest)


def verify_kept(dossier: Dossier) -> Verdict:
    """Read a dossier's stored file again and compare it with the SHA-256 kept when it was made."""
    if dossier.state != DossierState.READY:
        return Verdict(Outcome.MISSING, f"Dossier {dossier.pk} has no file yet.", "", dossier)
    try:
        with dossier.file.open("rb") as kept:
            digest = sha256(kept)
    except OSError:
        return Verdict(
            Outcome.MISSING, f"The file of dossier {dossier.pk} is missing.", "", dossier
        )
    if digest == dossier.sha256:
        words = f"The stored file of dossier {dossier.pk} is as it was made."
        return Verdict(Outcome.SAME, words, digest, dossier)
    words = f"The stored file of dossier {dossier.pk} differs from the one made."
    return Verdict(Outcome.DIFFERS, words, digest, dossier)


def _claimed(file: Any) -> Dossier | None:
    """The dossier that a changed file was once, by the identifier in its trailer."""
    file.seek(max(0, file.size - END_BYTES))
    end = POINTER.search(file.read())
    # The identifier stands in the trailer, whose place the end of the file tells.
    file.seek(min(int(end[1]), file.size) if end else 0)
    found = CLAIM.search(file.read(TRAILER_BYTES))
    file.seek(0)
    if found is None:
        return None
    number = found[1] or bytes.fromhex(found[2].decode())
    return Dossier.objects.filter(pk=int(number)).first()
