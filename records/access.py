"""Who may open which page: one declaration per view.

A right is the name of a property of `User`: `is_authenticated` (everybody who has signed in),
`sees_records`, `writes_records`, `writes_analyses` or `manages_accounts`.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, ClassVar, cast

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase
from django.views import View

from records.models import User

REFUSALS = {
    "sees_records": "Committee members see objects and their dossiers. The records behind them are "
    "open to conservators, scientists and administrators.",
    "writes_records": "Only conservators and administrators add or change these records.",
    "writes_analyses": "Only scientists, conservators and administrators add or change the records "
    "of the laboratory and the list of materials.",
    "manages_accounts": "Only administrators see and change accounts.",
}


def signed_in(request: HttpRequest) -> User:
    """The account behind a request; every page but the login requires one."""
    return cast(User, request.user)


def require(request: HttpRequest, right: str) -> None:
    """Refuse the request, in words, when the account lacks the right."""
    if not getattr(request.user, right):
        raise PermissionDenied(REFUSALS[right])


class Access(View):
    """A view that declares the right it needs."""

    needs: ClassVar[str] = "sees_records"

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        require(request, self.needs)
        return super().dispatch(request, *args, **kwargs)


def needs(right: str) -> Callable[..., Any]:
    """Decorator: the same declaration for a view that is a function."""

    def decorate(view: Callable[..., HttpResponseBase]) -> Callable[..., HttpResponseBase]:
        @wraps(view)
        def checked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            require(request, right)
            return view(request, *args, **kwargs)

        return checked

    return decorate
