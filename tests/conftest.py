"""What every test shares."""

import hypothesis
import pytest
from pytest_django.fixtures import Settings

# How long an example takes says something of the machine, not of the program.
hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")


@pytest.fixture(autouse=True)
def quick_passwords(settings: Settings) -> None:
    """Accounts made in tests need no slow password hash."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True)
def files_of_the_test(settings: Settings, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Files that a test stores stay out of the installation's own."""
    settings.MEDIA_ROOT = tmp_path_factory.mktemp("media")
