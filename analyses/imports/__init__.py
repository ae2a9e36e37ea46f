"""Import of samples and results: reading the table, checking it, writing it in one go."""

from analyses.imports.results import ResultsPlan, import_results, plan_results

__all__ = ["ResultsPlan", "import_results", "plan_results"]
