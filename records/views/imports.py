"""Importing by page: choose a file, read its problems or what it would add, confirm.

The reading and writing is done by `records.imports` and `analyses.imports`.
"""

from typing import Any, ClassVar

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from records.access import Access, signed_in
from records.forms.imports import FileForm, ImportDoor, SurveyForm
from records.imports import Look, Refused, import_survey, plan_survey
from records.imports.geojson import PROPERTIES
from records.imports.surveys import EXAMPLE
from records.models import Object
from records.trail import Crumb
from records.views.base import frame


class Imports(Access):
    """The door to both imports: which object, and what the file holds."""

    needs = "writes_analyses"

    def get(self, request: HttpRequest) -> HttpResponse:
        asked = request.GET if "number" in request.GET else None
        form = ImportDoor(asked, user=signed_in(request))
        if asked is not None and form.is_valid():
            return redirect(f"import-{form.cleaned_data['what']}", form.cleaned_data["number"].pk)
        status = 422 if form.errors else 200
        context = {"form": form, "nav": "import"}
        return render(request, "records/imports/door.html", context, status=status)


class ImportPage(Access):
    """Two steps on one page: the file is checked; what it would add is confirmed."""

    form_class: ClassVar[type[FileForm]]
    heading: ClassVar[str]
    guide: ClassVar[str]
    room: ClassVar[str]
    confirmation: ClassVar[str] = "records/imports/confirm.html"

    def plan(self, data: bytes, form: Any) -> Any:
        """What the file would add, or its problems; may raise Refused."""
        raise NotImplementedError

    def write(self, data: bytes, form: Any) -> Any:
        """Add it; raises Refused."""
        raise NotImplementedError

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        return self._show(request, item, self.form_class(item=item, user=signed_in(request)))

    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        item = get_object_or_404(Object, pk=pk)
        form = self.form_class(request.POST, request.FILES, item=item, user=signed_in(request))
        if not form.is_valid():
            return self._show(request, item, form, status=422)
        data = form.waits.read()
        try:
            if "confirm" not in request.POST:
                plan = self.plan(data, form)
                if not plan.is_ready:
                    form.waits.discard()
                status = 422 if plan.problems else 200
                return self._show(request, item, form, plan=plan, status=status)
            plan = self.write(data, form)
        except Refused as refused:
            return self._show(request, item, form, refused=refused, status=422)
        form.waits.discard()
        added = "; ".join(f"{words}: {number}" for words, number in plan.summary if number)
        messages.success(request, f"{form.waits.filename} is imported. {added.capitalize()}.")
        return redirect(self.after(item, plan))

    def after(self, item: Object, plan: Any) -> str:
        """The address of the page that follows an import."""
        return reverse(self.room, args=[item.pk])

    def _show(
        self,
        request: HttpRequest,
        item: Object,
        form: FileForm,
        *,
        plan: Any = None,
        refused: Refused | None = None,
        status: int = 200,
    ) -> HttpResponse:
        ready = plan is not None and plan.is_ready
        context = frame(request, item) | {
            "nav": "import",
            "title": self.heading,
            "form": form.to_confirm() if ready else form,
            "filename": form.waits.filename if plan or refused else "",
            "plan": plan,
            "problems": refused.problems if refused else plan.problems if plan else [],
            "guide": reverse(self.guide),
        }
        context["crumbs"] = [*context["crumbs"], Crumb(self.heading, request.path)]
        template = self.confirmation if ready else "records/imports/file.html"
        return render(request, template, context, status=status)


class SurveyImport(ImportPage):
    needs = "writes_records"
    form_class = SurveyForm
    heading = "Import a survey"
    guide = "import-survey-guide"
    room = "object-surface"

    def plan(self, data: bytes, form: Any) -> Any:
        return plan_survey(data, self._look(form))

    def write(self, data: bytes, form: Any) -> Any:
        why = form.cleaned_data["why"]
        return import_survey(data, self._look(form), user=form.user, why=why)

    def _look(self, form: Any) -> Look:
        said = form.cleaned_data
        return Look(said["face"], said["campaign"].strip(), said["technique"], said["date"])


class SurveyGuide(Access):
    """How a survey file is written: the table of its properties, and an example."""

    needs = "writes_analyses"

    def get(self, request: HttpRequest) -> HttpResponse:
        context = {
            "properties": PROPERTIES,
            "example": EXAMPLE.read_text("utf-8"),
            "nav": "import",
        }
        return render(request, "records/imports/survey_guide.html", context)


class SurveyExample(Access):
    needs = "writes_analyses"

    def get(self, request: HttpRequest) -> HttpResponseBase:
        return FileResponse(
            EXAMPLE.open("rb"),
            as_attachment=True,
            filename="survey-example.geojson",
            content_type="application/geo+json",
        )
