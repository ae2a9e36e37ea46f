"""What the commands that import files share: naming a file, an object and an account."""

from pathlib import Path

from django.core.management.base import CommandError

from records.imports.problems import nearest
from records.models import Object, User


def read_file(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise CommandError(f"{path}: {error.strerror}.") from error


def object_called(number: str) -> Object:
    item = Object.objects.filter(accession_number=number, withdrawn_at=None).first()
    if item is None:
        known = nearest(number, Object.objects.values_list("accession_number", flat=True))
        raise CommandError(f"There is no object “{number}”{known}.")
    return item


def account(name: str, right: str) -> User:
    """The account that a command acts for; raises CommandError when its role does not allow it."""
    user = User.objects.filter(username=name, is_active=True).first()
    if user is None:
        raise CommandError(f"There is no account “{name}”.")
    if not getattr(user, right):
        raise CommandError(f"The role of “{name}” does not allow this import.")
    return user
