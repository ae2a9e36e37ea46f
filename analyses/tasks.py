"""The laboratory's work in the task queue."""

from procrastinate.contrib.django import app

from analyses.models import Evaluation


@app.task(queue="evaluations", name="evaluate_raw_file")
def evaluate_raw_file(evaluation_id: int) -> None:
    """Evaluate one raw file; begun again after a stop, it gives the same again."""
    from analyses.evaluating import carry_out

    carry_out(Evaluation.objects.select_related("analysis__technique").get(pk=evaluation_id))
