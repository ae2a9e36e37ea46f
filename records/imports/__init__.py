"""Import of a survey: reading the file, checking it against the records, writing it in one go."""

from records.imports.places import misplaced
from records.imports.problems import Problem, Refused, nearest
from records.imports.surveys import Look, SurveyPlan, import_survey, plan_survey

__all__ = [
    "Look",
    "Problem",
    "Refused",
    "SurveyPlan",
    "import_survey",
    "misplaced",
    "nearest",
    "plan_survey",
]
