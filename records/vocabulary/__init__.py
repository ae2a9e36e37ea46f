"""The terms that come with the program (see README.md): their files, and loading them."""

from records.vocabulary.files import SCHEMES, read
from records.vocabulary.loading import load

__all__ = ["SCHEMES", "load", "read"]
