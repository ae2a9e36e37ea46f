"""The forms for importing samples and results, and raw files."""

from records.forms.imports import FileForm


class ResultsForm(FileForm):
    """A table of samples and results of one object."""

    accept = ".csv,.txt,.xlsx,text/csv"
    field_order = ("file", "why")

    def set_up(self) -> None:
        self.fields[
            "file"
        ].help_text = "CSV or XLSX with one heading row; of a workbook the first sheet is read."


class RawFilesForm(FileForm):
    """Raw files of one object, packed together."""

    accept = ".zip,application/zip"
    field_order = ("file", "why")

    def set_up(self) -> None:
        self.fields["file"].help_text = (
            "A ZIP of spectra and patterns as the instruments wrote them: EMSA/MAS, JCAMP-DX, "
            "pdCIF or columns of text. Name each PLACE__TECHNIQUE, as in P3__XRF.msa, or add a "
            "table files.csv."
        )
