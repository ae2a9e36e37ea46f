"""What the database refused, told as an error of the field that a person can mend."""

from collections.abc import Iterable

from django.db import IntegrityError, models

# Guards raised in triggers speak of one column; the rest concern the record as a whole.
SPEAKS_OF = {
    "The shape ": ("geometry", "outline"),
    "The new outline ": ("outline",),
}


def explain(
    error: IntegrityError, model: type[models.Model], shown: Iterable[str] = ()
) -> dict[str, str]:
    """Map of field name ('' for the whole record) to a message in words.

    Reads the diagnostics that PostgreSQL sends: the message of a guard trigger, or the name of a
    constraint, whose words stand with the model. `shown` names fields of a form that fill other
    records beside this one.
    """
    diagnostics = getattr(error.__cause__, "diag", None)
    message = getattr(diagnostics, "message_primary", None) or str(error)
    fields = {field.name for field in model._meta.get_fields()} | set(shown)
    for opening, columns in SPEAKS_OF.items():
        if message.startswith(opening):
            return {next((c for c in columns if c in fields), ""): message}
    name = getattr(diagnostics, "constraint_name", None)
    for constraint in model._meta.constraints:
        if constraint.name == name:
            words = str(constraint.violation_error_message)
            if constraint.violation_error_message == constraint.default_violation_error_message:
                words = f"Not allowed: {name.split('_', 2)[-1].replace('_', ' ')}."
            single = getattr(constraint, "fields", ())
            return {single[-1] if single else "": words}
    if column := getattr(diagnostics, "column_name", None):
        return {column if column in fields else "": "This is needed."}
    if name and message.startswith("duplicate key"):
        field = next((f for f in fields if f"_{f}_" in name), "")
        return {field: "Another record has this already; it must be unique."}
    return {"": message}
