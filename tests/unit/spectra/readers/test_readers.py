"""Raw files of every kind are read, and broken ones refused by their line."""

import codecs
import io
import re
from pathlib import Path

import jcamp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rsciio import msa

from analyses.spectra.curve import Curve
from analyses.spectra.readers import ChoiceNeeded, ColumnChoice, Unreadable, preview, read
from analyses.spectra.readers.jcampdx import decode_line
from tests.unit.spectra.readers.samples import EMSA, EMSA_VALUES, PDCIF, TABLE, jcampdx

X = np.linspace(4000, 3901, 100)
Y = [int(9000 - 400 * np.exp(-(((k - 40) / 9) ** 2))) if k < 80 else 9000 for k in range(100)]
JCAMP = jcampdx(X, Y, "DUP")
SAMPLES = {"EMSA": EMSA, "JCAMP": JCAMP, "CIF": PDCIF, "table": TABLE}


def test_it_reads_the_published_example_of_emsa() -> None:
    curve = read(EMSA.encode(), "example.msa")
    assert (curve.x_unit, curve.y_unit, curve.format) == ("keV", "intensity", "EMSA/MAS")
    assert curve.y.tolist() == EMSA_VALUES
    assert curve.x == pytest.approx(0.2 + 0.01 * np.arange(80))
    assert curve.told["BEAMKV"] == curve.told["beam_energy"] == "120.0"
    assert curve.told["BEAMKV unit"] == "kV"


def test_it_reads_places_and_values_in_pairs() -> None:
    text = re.sub(r"(?s)(HERE\n|Here\n).*#END", "Here\n520.1, 7, 523.2, 9\n526.3 4\n#END", EMSA)
    text = text.replace(": Y\n", ": XY\n").replace(": 80.", ": 3")
    curve = read(text.encode())
    assert curve.x == pytest.approx([0.5201, 0.5232, 0.5263])
    assert curve.y.tolist() == [7, 9, 4]


@given(
    st.lists(st.integers(0, 10**6), min_size=2, max_size=60),
    st.floats(-50, 50),
    st.floats(0.5, 40),
    st.sampled_from(["Y", "XY"]),
)
@settings(max_examples=40)
def test_it_reads_what_another_library_writes(
    tmp_path_factory: pytest.TempPathFactory,
    values: list[int],
    start: float,
    step: float,
    form: str,
) -> None:
    path = tmp_path_factory.mktemp("msa") / "spectrum.msa"
    axis = {"size": len(values), "name": "Energy", "scale": step, "offset": start, "units": "eV",
            "navigate": False, "index_in_array": 0}  # fmt: skip
    signal = {
        "data": np.array(values),
        "axes": [axis],
        "metadata": {"Signal": {"signal_type": ""}},
        "original_metadata": {},
    }
    msa.file_writer(str(path), signal, format=form)
    curve = read(path)
    assert curve.y.tolist() == values
    assert curve.x * 1000 == pytest.approx(start + step * np.arange(len(values)), abs=1e-3)


# The forms of one line as McDonald and Wilks give them (Applied Spectroscopy 42 (1988) 151–162).
@pytest.mark.parametrize(
    "line",
    ["99 1 2 3 3 2 1 0 -1 -2 -3", "99+1+2+3+3+2+1+0-1-2-3", "99 1BCCBA@abc", "99 1JJ%jjjjjj",
     "99 1JT%jX"],
)  # fmt: skip
def test_it_decodes_the_published_forms_of_jcamp_dx(line: str) -> None:
    place, values, _ = decode_line(line, 1)
    assert (place, values) == (99, [1, 2, 3, 3, 2, 1, 0, -1, -2, -3])


@given(
    st.lists(st.integers(-30000, 30000), min_size=2, max_size=80),
    st.sampled_from(["AFFN", "PAC", "SQZ", "DIF", "DUP"]),
    st.booleans(),
)
@settings(max_examples=120)
def test_every_form_of_jcamp_dx_gives_the_same_curve(
    values: list[int], form: str, descends: bool
) -> None:
    x = np.linspace(400, 400 + 2 * len(values) - 2, len(values))
    if descends:
        x = x[::-1]
    curve = read(jcampdx(x, values, form).encode())
    expected = np.array(values) * 0.0001
    assert curve.x == pytest.approx(np.sort(x), abs=1e-6)
    assert curve.y == pytest.approx(expected[::-1] if descends else expected, abs=1e-12)
    assert (curve.x_unit, curve.y_unit) == ("cm⁻¹", "transmittance")


@pytest.mark.parametrize("form", ["AFFN", "PAC", "SQZ", "DIF", "DUP"])
def test_another_library_reads_the_same_from_jcamp_dx(form: str) -> None:
    # A slope, because the library takes repeats of ten and more for something else.
    text = jcampdx(X, [y + 3 * (k // 4) for k, y in enumerate(Y)], form)
    theirs = jcamp.read(io.BytesIO(text.encode()))
    ours = read(text.encode())
    assert ours.x == pytest.approx(theirs["x"][::-1])
    assert ours.y == pytest.approx(theirs["y"][::-1])


def test_it_reads_pairs_and_micrometres_of_jcamp_dx() -> None:
    text = JCAMP.replace("1/CM", "MICROMETERS").replace("TRANSMITTANCE", "ABSORBANCE")
    head = text.partition("##XYDATA")[0].replace("##NPOINTS= 100", "##NPOINTS= 3")
    curve = read(f"{head}##XYPOINTS= (XY..XY)\n2.5, 1000; 5, 2000\n10, 500\n##END=\n".encode())
    assert curve.x == pytest.approx([1000, 2000, 4000])
    assert curve.y == pytest.approx([0.05, 0.2, 0.1])
    assert (curve.x_unit, curve.y_unit) == ("cm⁻¹", "absorbance")


def test_it_reads_the_one_spectrum_of_a_compound_file_and_asks_to_part_several() -> None:
    link = "##TITLE= two\n##JCAMP-DX= 4.24\n##DATA TYPE= LINK\n##BLOCKS= 2\n{}##END=\n"
    peaks = "##TITLE= peaks\n##PEAK TABLE= (XY..XY)\n1, 2\n##END=\n"
    assert len(read(link.format(JCAMP + peaks).encode()).x) == 100
    with pytest.raises(Unreadable, match="holds 2 spectra"):
        read(link.format(JCAMP + JCAMP).encode())


def test_it_reads_a_powder_pattern_with_its_wavelength() -> None:
    curve = read(PDCIF.encode(), "pattern.cif")
    assert (curve.x_unit, curve.y_unit) == ("° 2θ", "counts")
    assert curve.x == pytest.approx([10, 10.02, 10.04, 10.06])
    assert curve.y.tolist() == [120, 131, 144, 98]
    assert curve.told["wavelength"] == "1.5406"


def test_it_makes_the_places_of_a_powder_pattern_from_its_range() -> None:
    text = re.sub(r"_pd_meas_2theta_scan\n", "", PDCIF).replace("loop_", (
        "_pd_meas_2theta_range_min 5\n_pd_meas_2theta_range_max 5.3\n"
        "_pd_meas_2theta_range_inc 0.1\nloop_"))  # fmt: skip
    text = re.sub(r"(?m)^10\.\d\d\s", "", text)
    assert read(text.encode()).x == pytest.approx([5, 5.1, 5.2, 5.3])
    with pytest.raises(Unreadable, match=r"Line 7: .* make 7 places, the file has 4"):
        read(text.replace("inc 0.1", "inc 0.05").encode())


def test_it_reads_a_table_with_decimal_commas_under_a_head() -> None:
    curve = read(TABLE.encode(), "green.csv")
    assert curve.x.tolist() == [3994.5, 3996.5, 3998.5, 4000.5]
    assert curve.y.tolist() == [0.098, 0.144, 0.131, 0.12]
    assert (curve.x_unit, curve.y_unit) == ("cm⁻¹", "absorbance")
    assert curve.told == {"Sample": "green layer, point 4", "Resolution": "4"}


@given(
    st.sampled_from(["\t", ";", ",", " ", "   "]),
    st.sampled_from([".", ","]),
    st.lists(st.floats(-10, 10), min_size=3, max_size=30),
    st.booleans(),
    st.sampled_from(["", "# made for a test\n\n", "1200\n", "a;b\n"]),
    st.sampled_from(["\n", "\r\n", "\r"]),
)
@settings(max_examples=150)
def test_a_table_is_read_alike_however_it_is_written(
    separator: str, decimal: str, values: list[float], descends: bool, head: str, end: str
) -> None:
    if separator == decimal == ",":
        decimal = "."
    x = np.arange(len(values)) * 1.5 + 400.5
    y = np.round(values, 4)
    order = slice(None, None, -1 if descends else 1)
    rows = [f"{a:.2f}{separator}{b:.4f}" if decimal == "." else
            f"{a:.2f}{separator}{b:.4f}".replace(".", ",")
            for a, b in zip(x[order], y[order], strict=True)]  # fmt: skip
    curve = read((head + "\n".join(rows) + "\n").replace("\n", end).encode())
    assert curve.x == pytest.approx(x)
    assert curve.y == pytest.approx(y)


@pytest.mark.parametrize(
    ("mark", "encoding"),
    [(b"", "utf-8"), (codecs.BOM_UTF8, "utf-8"), (b"", "latin-1"),
     (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be")],
)  # fmt: skip
def test_it_reads_every_usual_encoding(mark: bytes, encoding: str) -> None:
    text = TABLE.replace("green", "grün, Öl").replace("cm-1", "cm-1, µ")
    curve = read(mark + text.encode(encoding))
    assert curve.told["Sample"] == "grün, Öl layer, point 4"
    assert len(curve.x) == 4


def test_a_person_chooses_among_many_columns() -> None:
    text = "run 7\nk\ta\tb\n1\t5.5\t7\n2\t6.5\t8\n3\t7.5\t8\n"
    with pytest.raises(ChoiceNeeded, match="3 columns"):
        read(text.encode())
    shown = preview(text.encode())
    assert shown is not None
    assert (shown.columns, shown.headings, shown.separator) == (3, ("k", "a", "b"), "tab")
    assert shown.rows[0] == (3, ("1", "5.5", "7"))
    assert shown.guess is None
    curve = read(text.encode(), columns=ColumnChoice(x=1, y=2, x_unit="keV", y_unit="counts"))
    assert (curve.x.tolist(), curve.y.tolist()) == ([5.5, 6.5, 7.5], [7, 8, 8])
    by_step = ColumnChoice(y=2, start=0, step=20, x_unit="eV")
    assert read(text.encode(), columns=by_step).x.tolist() == [0, 0.02, 0.04]
    with pytest.raises(Unreadable, match="no column 5"):
        read(text.encode(), columns=ColumnChoice(x=4, y=1))


def test_headings_choose_among_many_columns() -> None:
    text = "No,Energy (eV),Counts\n1,20,5\n2,40,7\n"
    curve = read(text.encode())
    assert (curve.x.tolist(), curve.y.tolist(), curve.x_unit) == ([0.02, 0.04], [5, 7], "keV")
    shown = preview(text.encode())
    assert shown is not None
    assert shown.guess is not None
    assert (shown.guess.x, shown.guess.y) == (1, 2)


def test_only_tables_need_a_choice() -> None:
    assert all(preview(SAMPLES[kind].encode()) is None for kind in ("EMSA", "JCAMP", "CIF"))


BROKEN = {
    "number": (EMSA, "254.22", "25x.22", r"Line 27: the value “25x.22” is no number"),
    "infinite": (EMSA, "254.22", "1e999", r"Line 27: the value “1e999”"),
    "count": (EMSA, ": 80.", ": 82.", r"Line 7: #NPOINTS says 82 values, the file has 80"),
    "keyword lost": (EMSA, "#OFFSET      : 200.0\n", "", r"Line 20: the keyword #OFFSET"),
    "keyword number": (EMSA, ": 10.0", ": ten", r"Line 12: #XPERCHAN “ten” is no number"),
    "no width": (EMSA, ": 10.0", ": 0", r"Line 12: #XPERCHAN must be greater"),
    "stray line": (EMSA, "#TIME", "TIME", r"Line 5: .* is no keyword line"),
    "datatype": (EMSA, ": Y\n", ": Z\n", r"Line 11: #DATATYPE is “Z”"),
    "odd pair": (EMSA, ": Y\n", ": XY\n", r"Line 22: has a place without its value"),
    "no data mark": (EMSA, "#SPECTRUM", "#SPECTRAM", r"Line 22: .* is no keyword line"),
    "no end": (EMSA, "#ENDOFDATA   :\n", "", r"the line #ENDOFDATA is missing"),
    "y-check": (JCAMP, "\n3988.0000H9", "\n3988.0000H8", r"Line 17: begins with 8899 where"),
    "x-check": (JCAMP, "\n3988", "\n3978", r"Line 17: begins at 3978 where 3988 is due"),
    "letter": (JCAMP, "\n3988.0000H", "\n3988.0000Hx", r"Line 17: “x” \(character 11\)"),
    "gap": (JCAMP, "\n3988.0000H", "\n3988.0000?H", r"Line 17: holds a “\?”"),
    "points": (JCAMP, "= 100", "= 101", r"Line 1[367]: "),
    "no end label": (JCAMP, "##END=", "", r"##END= of “panel, upper edge” is missing"),
    "no equals": (JCAMP, "##OWNER=", "##OWNER", r"Line 5: .* has no “=”"),
    "factor": (JCAMP, "##YFACTOR= 0.0001", "##YFACTOR= none", r"Line 10: ##YFACTOR="),
    "form": (JCAMP, "(X++(Y..Y))", "(X++(R..R))", r"Line 15: the form"),
    "units": (JCAMP, "##XUNITS= 1/CM\n", "", r"Line 14: ##XUNITS= is missing"),
    "pattern value": (PDCIF, "144(12)", "?", r"Line 12: _pd_meas_counts_total is “\?”"),
    "pattern loop": (PDCIF, "98(10) 1", "98(10)", r"Line 5: is no CIF: Wrong number of values"),
    "pattern order": (PDCIF, "10.04", "10.01", r"Line 12: the place 10.01 breaks the order"),
    "cif quote": (PDCIF, "'room 4'", "'room 4", r"Line 4: is no CIF"),
    "cell": (TABLE, "0,144", "O,144", r"Line 7: “O.144” is no number"),
    "columns": (TABLE, "0,144", "0,144;3", r"Line 7: .* has 3 columns; the rows before it have 2"),
    "twice": (TABLE, "3996,5", "3998,5", r"Line 7: the place 3998.5 stands twice"),
    "order": (TABLE, "3996,5", "4010", r"Line 7: the place 4010 breaks the order"),
    "thousands": (TABLE, "3996,5", "3.996,5", r"Line 7: .* is no number"),
    "words after": (TABLE, "3994,5;0,098", "end of scan", r"Line 8: .* has 1 column"),
}  # fmt: skip


@pytest.mark.parametrize("fault", BROKEN)
def test_a_broken_file_names_the_line_and_what_to_do(fault: str) -> None:
    text, old, new, message = BROKEN[fault]
    assert old in text
    with pytest.raises(Unreadable, match=message) as refusal:
        read(text.replace(old, new, 1).encode())
    assert re.search(r"[Mm]end|[Ee]xport|must be|[Ee]ach", str(refusal.value))


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "is empty"),
        (b"10,00 5\n10,02 6\n10.04 7\n", "Line 3: “10.04 7” has a decimal point among"),
        (b" \r\n\t\n", "nothing but blanks"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "is a picture"),
        (b"MZ\x00\x01\x02", "Line 1: holds bytes that no text has"),
        (b"Dear colleague,\nno numbers here\n", "Line 1: .*neither this nor any later line"),
        (b"4000 0.1\n", "Line 1: is the only row"),
        (codecs.BOM_UTF16_LE + b"a\x00b", "breaks off"),
        (b"data_a\nloop_\n_atom_site_label\nPb1\n", "a crystal structure, not a measured pattern"),
        (b"data_a\n_pd_x 1\n", "holds no pattern"),
        (b"##TITLE= a\n##END=\n", "has no data"),
        (b"#FORMAT : EMSA/MAS\n#TITLE : a\n", "ends before its data"),
    ],
)
def test_it_refuses_what_is_no_measurement(content: bytes, message: str) -> None:
    with pytest.raises(Unreadable, match=message):
        read(content)


def test_it_refuses_a_file_too_large_to_be_one_measurement(tmp_path: Path) -> None:
    path = tmp_path / "large.txt"
    with path.open("wb") as file:
        file.truncate(65 * 1024 * 1024)
    with pytest.raises(Unreadable, match="65 MB; up to 64 MB"):
        read(path)


def test_a_german_table_with_decimal_commas_is_read_by_its_headings() -> None:
    table = "Wellenzahl;Extinktion\r\n4000,5;0,1\r\n3999,5;0,25\r\n3998,5;0,1\r\n"
    curve = read(table.encode("cp1252"))
    assert (curve.x_unit, curve.y_unit) == ("cm⁻¹", "absorbance")
    assert list(curve.x) == [3998.5, 3999.5, 4000.5]


@pytest.mark.parametrize("kind", ["EMSA", "JCAMP"])
def test_a_file_that_was_cut_off_is_never_read_as_a_shorter_one(kind: str) -> None:
    lines = SAMPLES[kind].rstrip().split("\n")
    for kept in range(1, len(lines)):
        with pytest.raises(Unreadable):
            read("\n".join(lines[:kept]).encode())


@given(st.sampled_from(sorted(SAMPLES)), st.data())
@settings(max_examples=400)
def test_whatever_a_file_holds_it_is_read_or_refused(kind: str, data: st.DataObject) -> None:
    content = bytearray(SAMPLES[kind].encode())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(content) - 1))
        content[at : at + data.draw(st.integers(0, 30))] = data.draw(st.binary(max_size=12))
        if not content:
            content = bytearray(b" ")
    before = bytes(content)
    outcome: object = ""
    try:
        outcome = read(before)
        preview(before)
    except Unreadable as refusal:
        outcome = str(refusal)
    assert isinstance(outcome, Curve) or outcome
    assert before == bytes(content)
