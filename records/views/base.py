"""The pages that every kind of record has: reading, adding, changing, withdrawing, signing."""

from typing import Any, ClassVar

from django.apps import apps
from django.contrib import messages
from django.contrib.contenttypes.models import ContentType
from django.db.models import Model, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django_tables2 import RequestConfig

from records.access import Access, require, signed_in
from records.changes import change
from records.forms.base import Correction, Reason, RecordForm
from records.models import (
    Amendment,
    Campaign,
    Examination,
    Object,
    Occurrence,
    Reconstruction,
    Record,
    Signable,
    Trace,
    Treatment,
)
from records.trail import (
    SIGNED_WITH,
    Crumb,
    above,
    address_of,
    may_write,
    name_of,
    object_of,
    right_to_write,
    room_of,
    trail,
)
from records.versions import versions_of


def frame(request: HttpRequest, record: Model) -> dict[str, Any]:
    """What every page about one record shows around it: the object's label, the room, the trail."""
    item = object_of(record)
    return {
        "record": record,
        "object": item if item and item.pk else None,
        "room": room_of(record),
        "crumbs": trail(record),
        "may_write": may_write(signed_in(request), type(record)),
    }


def amendments_of(record: Model) -> QuerySet[Amendment]:
    """Signed corrections to a record, oldest first."""
    return Amendment.objects.filter(
        content_type=ContentType.objects.get_for_model(record), object_id=record.pk
    ).select_related("signed_by")


def deeds_on(record: Record) -> dict[str, str]:
    """The addresses of what can be done with a record as it stands, by the word for it."""
    kind = [record._meta.app_label, record._meta.model_name, record.pk]
    if record.is_withdrawn:
        return {}
    if getattr(record, "signed_at", None):
        return {"amend": reverse("amend", args=kind)}
    deeds = {"edit": reverse(edit_name(type(record)), args=[record.pk])}
    if isinstance(record, Signable):
        deeds["sign"] = reverse("sign", args=kind)
    return deeds | {"withdraw": reverse("withdraw", args=kind)}


def edit_name(model: type[Model]) -> str:
    """The name of the address at which a kind of record is changed: 'sampling-point-edit'."""
    words = str(model._meta.verbose_name).lower().replace(" ", "-")
    return f"{words}-edit"


# What the history of an object dates, and so can give grounds for.
HAS_TIME = (Campaign, Examination, Occurrence, Trace, Treatment)


def _has_history(record: Record, item: Object) -> bool:
    return not record.is_withdrawn and Reconstruction.objects.filter(object=item).exists()


class RecordPage(Access):
    """A page on which one record is read, with its amendments and the history of its changes."""

    model: ClassVar[type[Record]]
    template: ClassVar[str]

    def records(self) -> QuerySet[Any]:
        """Where the record is looked up, with what its page needs."""
        return self.model._default_manager.all()

    def gather(self, record: Any) -> dict[str, Any]:
        """What the page shows beside the record itself."""
        return {}

    def get(self, request: HttpRequest, pk: int) -> HttpResponse:
        record = get_object_or_404(self.records(), pk=pk)
        context = frame(request, record)
        context["versions"] = versions_of(record)
        if isinstance(record, Signable):
            context["amendments"] = amendments_of(record)
        if context["may_write"]:
            context["deeds"] = deeds_on(record)
        if isinstance(record, HAS_TIME) and _has_history(record, context["object"]):
            entity = f"{record._meta.model_name}:{record.pk}"
            context["grounds"] = reverse(
                "object-history-grounds", args=[context["object"].pk, entity]
            )
        return render(request, self.template, context | self.gather(record))


class EntryPage(Access):
    """A page with the form of one record."""

    form_class: ClassVar[type[RecordForm]] = RecordForm
    template: ClassVar[str] = "records/form.html"
    crumb: ClassVar[str] = ""

    def record(self, request: HttpRequest, **where: Any) -> Any:
        """The record that the form speaks of, new or existing."""
        raise NotImplementedError

    def title(self, record: Any) -> str:
        raise NotImplementedError

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        require(request, right_to_write(self.form_class._meta.model))
        return super().dispatch(request, *args, **kwargs)

    def get(self, request: HttpRequest, **where: Any) -> HttpResponse:
        record = self.record(request, **where)
        if refused := self._refused(request, record):
            return refused
        initial = {k: v for k, v in request.GET.items() if k in self.form_class.base_fields}
        form = self.form_class(instance=record, user=signed_in(request), initial=initial)
        return self._show(request, record, form)

    def post(self, request: HttpRequest, **where: Any) -> HttpResponse:
        record = self.record(request, **where)
        if refused := self._refused(request, record):
            return refused
        form = self.form_class(
            request.POST, request.FILES, instance=record, user=signed_in(request)
        )
        if form.is_valid() and form.store():
            messages.success(request, f"{name_of(form.instance)}: saved.")
            return redirect(self.next_address(form))
        return self._show(request, record, form, status=422)

    def next_address(self, form: RecordForm) -> str:
        """Where to go once the record is saved."""
        return address_of(form.instance)

    def _show(
        self, request: HttpRequest, record: Any, form: RecordForm, status: int = 200
    ) -> HttpResponse:
        # The form's checks fill the instance; the page around it shows the record as it is kept.
        kept = type(record)._default_manager.get(pk=record.pk) if record.pk else record
        title = self.title(kept)
        context = frame(request, kept) | {"form": form, "title": title, "back": self.back(kept)}
        context["crumbs"] = [*context["crumbs"], Crumb(self.crumb or title, request.path)]
        return render(request, self.template, context | self.around(form), status=status)

    def around(self, form: Any) -> dict[str, Any]:
        """What the page shows beside the form."""
        return {}

    def back(self, record: Any) -> str:
        """Where the form is left without saving."""
        step = record if record.pk else above(record)
        return address_of(step) if step is not None else "/"

    def _refused(self, request: HttpRequest, record: Any) -> HttpResponse | None:
        if not (words := closed(record)):
            return None
        messages.error(request, words)
        return redirect(self.back(record))


def closed(record: Any) -> str:
    """Why a record, or a new part of the one above it, cannot be written; '' when it can."""
    up = above(record)
    signed_with = up if type(record) in SIGNED_WITH else None
    for step in (record, up):
        if step is not None and getattr(step, "withdrawn_at", None):
            return "The record is withdrawn: it can be read but not changed."
    for step in (record, signed_with):
        if step is not None and getattr(step, "signed_at", None):
            return "The record is signed and locked: add an amendment instead."
    return ""


class NewRecord(EntryPage):
    """Add a record to the one that it is a part of (`parent`, tied by the field `link`)."""

    parent: ClassVar[type[Record] | None] = None
    link: ClassVar[str] = ""

    def record(self, request: HttpRequest, **where: Any) -> Any:
        model = self.form_class._meta.model
        if self.parent is None:
            return model()
        return model(**{self.link: get_object_or_404(self.parent, pk=where["pk"])})

    def title(self, record: Any) -> str:
        name = record._meta.verbose_name
        return f"New {name}"


class ChangeRecord(EntryPage):
    """Change an existing record, with a reason."""

    def record(self, request: HttpRequest, **where: Any) -> Any:
        return get_object_or_404(self.form_class._meta.model, pk=where["pk"])

    crumb = "Change"

    def title(self, record: Any) -> str:
        return f"Change: {name_of(record)}"


class Deed(Access):
    """One deed on any kind of record: a page that asks for words, then does it."""

    heading: ClassVar[str]
    button: ClassVar[str]
    form_class: ClassVar[type[Any]]

    def get(self, request: HttpRequest, app: str, model: str, pk: int) -> HttpResponse:
        record = self._record(request, app, model, pk)
        if words := self.refusal(record):
            messages.error(request, words)
            return redirect(address_of(record))
        return self._show(request, record, self.form_class())

    def post(self, request: HttpRequest, app: str, model: str, pk: int) -> HttpResponse:
        record = self._record(request, app, model, pk)
        if words := self.refusal(record):
            messages.error(request, words)
            return redirect(address_of(record))
        form = self.form_class(request.POST)
        if form.is_valid():
            messages.success(request, self.do(request, record, form))
            return redirect(address_of(record))
        return self._show(request, record, form, status=422)

    def refusal(self, record: Any) -> str:
        """Why the deed cannot be done on this record; '' when it can."""
        return ""

    def do(self, request: HttpRequest, record: Any, form: Any) -> str:
        """Do it; return what to tell the person."""
        raise NotImplementedError

    def _record(self, request: HttpRequest, app: str, model: str, pk: int) -> Any:
        try:
            found = apps.get_model(app, model)
        except LookupError as error:
            raise Http404 from error
        if not issubclass(found, Record):
            raise Http404
        require(request, right_to_write(found))
        return get_object_or_404(found, pk=pk)

    def _show(
        self, request: HttpRequest, record: Any, form: Any, status: int = 200
    ) -> HttpResponse:
        context = frame(request, record) | {
            "form": form,
            "title": f"{self.heading}: {name_of(record)}",
            "button": self.button,
            "back": address_of(record),
        }
        context["crumbs"] = [*context["crumbs"], Crumb(self.heading, request.path)]
        return render(request, "records/form.html", context, status=status)


class Withdraw(Deed):
    """Take a record out of use with a reason; it stays readable."""

    heading = "Withdraw"
    button = "Withdraw the record"
    form_class = Reason

    def refusal(self, record: Any) -> str:
        return "The record is withdrawn already." if record.is_withdrawn else closed(record)

    def do(self, request: HttpRequest, record: Any, form: Any) -> str:
        record.withdraw(user=signed_in(request), why=form.cleaned_data["why"])
        return f"{name_of(record)}: withdrawn. It stays readable."


class Amend(Deed):
    """Add a signed correction to a signed record."""

    heading = "Amend"
    button = "Sign the amendment"
    form_class = Correction

    def refusal(self, record: Any) -> str:
        if not getattr(record, "signed_at", None):
            return "The record is not signed: change it instead."
        return ""

    def do(self, request: HttpRequest, record: Any, form: Any) -> str:
        user = signed_in(request)
        with change(user=user, why="amended"):
            Amendment.objects.create(
                content_type=ContentType.objects.get_for_model(record),
                object_id=record.pk,
                text=form.cleaned_data["text"],
                signed_by=user,
                signed_at=timezone.now(),
            )
        return "The amendment is signed and stands with the record."


class Sign(Access):
    """Sign and lock a record."""

    def post(self, request: HttpRequest, app: str, model: str, pk: int) -> HttpResponse:
        try:
            found = apps.get_model(app, model)
        except LookupError as error:
            raise Http404 from error
        if not issubclass(found, Signable):
            raise Http404
        require(request, right_to_write(found))
        record: Any = get_object_or_404(found, pk=pk)
        if record.withdrawn_at:
            messages.error(request, "The record is withdrawn: it cannot be signed.")
        elif record.signed_at:
            messages.error(request, "The record is signed already.")
        else:
            record.sign(user=signed_in(request))
            messages.success(request, f"{name_of(record)}: signed and locked.")
        return redirect(address_of(record))


class ListPage(Access):
    """A list of records as a table that narrows as one types."""

    table_class: ClassVar[type[Any]]
    filter_class: ClassVar[type[Any]]
    template: ClassVar[str]
    per_page: ClassVar[int] = 50

    def gather(self, request: HttpRequest, **where: Any) -> dict[str, Any]:
        """What the page shows around the table."""
        return {}

    def rows(self, context: dict[str, Any]) -> QuerySet[Any]:
        """The rows before any filter, with what their cells need."""
        raise NotImplementedError

    def narrowed(self, request: HttpRequest, context: dict[str, Any]) -> Any:
        """The filters, filled in."""
        return self.filter_class(request.GET, queryset=self.rows(context))

    def get(self, request: HttpRequest, **where: Any) -> HttpResponse:
        context = self.gather(request, **where)
        narrowed = self.narrowed(request, context)
        table = self.table_class(narrowed.qs)
        RequestConfig(request, paginate={"per_page": self.per_page, "silent": True}).configure(
            table
        )
        return render(request, self.template, context | {"filter": narrowed, "table": table})
