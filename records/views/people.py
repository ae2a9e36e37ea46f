"""People: the names that appear in records."""

from typing import Any

from django.db.models import Q, QuerySet
from django.http import HttpRequest

from records.access import signed_in
from records.filtersets import PersonListFilterSet
from records.forms.objects import PersonForm
from records.models import Person
from records.tables import PersonTable
from records.trail import may_write
from records.views.base import ChangeRecord, ListPage, NewRecord, RecordPage

STANDING = Q(withdrawn_at__isnull=True)


class People(ListPage):
    table_class = PersonTable
    filter_class = PersonListFilterSet
    template = "records/people.html"

    def gather(self, request: HttpRequest, **where: Any) -> dict[str, Any]:
        return {"nav": "vocabulary", "may_write": may_write(signed_in(request), Person)}

    def rows(self, context: dict[str, Any]) -> QuerySet[Person]:
        return Person.objects.all()


class PersonPage(RecordPage):
    model = Person
    template = "records/person.html"

    def gather(self, record: Person) -> dict[str, Any]:
        return {
            "nav": "vocabulary",
            "campaigns": record.campaigns.filter(STANDING).select_related("object"),
            "treatments": record.treatments.filter(STANDING).select_related("object"),
            "examinations": record.examinations.filter(STANDING).select_related(
                "technique", "campaign__object"
            ),
        }


class NewPerson(NewRecord):
    form_class = PersonForm


class ChangePerson(ChangeRecord):
    form_class = PersonForm
