"""Import of samples, results and raw files: reading, checking, writing it in one go."""

from analyses.imports.raw_files import RawFilesPlan, import_raw_files, plan_raw_files
from analyses.imports.results import ResultsPlan, import_results, plan_results

__all__ = [
    "RawFilesPlan",
    "ResultsPlan",
    "import_raw_files",
    "import_results",
    "plan_raw_files",
    "plan_results",
]
