"""The form for importing samples and results."""

from records.forms.imports import FileForm


class ResultsForm(FileForm):
    """A table of samples and results of one object."""

    accept = ".csv,.txt,.xlsx,text/csv"
    field_order = ("file", "why")

    def set_up(self) -> None:
        self.fields[
            "file"
        ].help_text = "CSV or XLSX with one heading row; of a workbook the first sheet is read."
