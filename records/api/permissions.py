"""Who may read and write what through the interface for programs."""

from typing import TYPE_CHECKING

from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from records.models import User
from records.trail import may_write

if TYPE_CHECKING:
    from rest_framework.views import APIView  # reads the settings that name this module


class ByRole(BasePermission):
    """Committee members read objects and dossiers; others read all; writing goes by role.

    A view says `committee_reads = True` where a committee member may read. What a role may write is
    the same as on the pages; it goes by the kind of record, which is that of the view's records
    unless it has `about(request)`.
    """

    message = "Your role does not allow this."

    def has_permission(self, request: Request, view: "APIView") -> bool:
        user = request.user
        if not isinstance(user, User):
            return False
        if request.method in {"GET", "HEAD", "OPTIONS"}:
            return user.sees_records or getattr(view, "committee_reads", False)
        about = getattr(view, "about", None)
        return may_write(user, about(request) if about else view.queryset.model)  # type: ignore[attr-defined]
