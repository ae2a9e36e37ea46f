"""Every state that a page names has a mark: a word alone would not stand out."""

import re
from pathlib import Path

import pytest

from records.templatetags.records import MARKS

ROOT = Path(__file__).resolve().parents[2]
NAMED = re.compile(r'{% status "(\w+)"')
TEMPLATES = sorted(
    path for app in ("records", "analyses", "reports") for path in (ROOT / app).rglob("*.html")
)


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.stem)
def test_states_named_in_a_page_have_a_mark(path: Path) -> None:
    assert set(NAMED.findall(path.read_text())) <= set(MARKS)
