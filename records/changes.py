"""The one way to change a record: with who and why.

The database refuses an insert or update of a record outside `change` (see the triggers in
`records.models.base`), so that no change can go unexplained, whatever code makes it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pghistory
from django.db import transaction

if TYPE_CHECKING:
    from records.models import User


@contextmanager
def change(*, user: "User | None", why: str) -> Iterator[None]:
    """Make the changes inside the block as one, all or nothing, under one name and one reason.

    `user` is None only for what the program itself does (seeding vocabularies, the task queue).
    Raises ValueError when no reason is given.
    """
    if not why.strip():
        raise ValueError("Say why the record is changed.")
    with (
        transaction.atomic(),
        pghistory.context(user=user.pk if user else None, why=why.strip()),
    ):
        yield
