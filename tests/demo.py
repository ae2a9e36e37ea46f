"""The demonstration as records to test with: loaded once for a class, rolled back after it."""

from tempfile import TemporaryDirectory

from django.test import TestCase, override_settings

from fixtures.loading import load_demo
from records.models import Object

CANVAS = "HM 1931.47"
NUMBERS = (CANVAS, "HM 1958.12", "HM 1949.5")
QUICK_HASHER = ["django.contrib.auth.hashers.MD5PasswordHasher"]


class DemoRecords(TestCase):
    """A test class that starts from the demonstration's records."""

    objects: dict[str, Object]

    @classmethod
    def setUpClass(cls) -> None:
        media = cls.enterClassContext(TemporaryDirectory())
        cls.enterClassContext(override_settings(MEDIA_ROOT=media, PASSWORD_HASHERS=QUICK_HASHER))
        super().setUpClass()

    @classmethod
    def setUpTestData(cls) -> None:
        load_demo(images=False)
        found = Object.objects.filter(accession_number__in=NUMBERS)
        cls.objects = {item.accession_number: item for item in found}
