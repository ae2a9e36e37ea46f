"""The echo under every date field: what the program understood."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from records.history import edtf


def read_date(request: HttpRequest) -> HttpResponse:
    """Say in plain words what the text means, or which part of it is not understood."""
    text = next((str(v).strip() for k, v in request.GET.items() if k != "csrfmiddlewaretoken"), "")
    context: dict[str, object] = {"text": text}
    if text:
        try:
            context["words"] = edtf.describe(text)
            context["tentative"] = edtf.read(text).tentative
        except edtf.EdtfError as error:
            context["error"] = str(error)
    return render(request, "records/parts/edtf_echo.html", context)
