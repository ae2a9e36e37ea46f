"""Accounts, for administrators: listing, adding, changing, setting a password anew."""

from django.contrib import messages
from django.contrib.auth.forms import SetPasswordForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from records.access import needs
from records.forms.accounts import AccountForm, NewAccountForm
from records.models import User


@needs("manages_accounts")
def accounts(request: HttpRequest) -> HttpResponse:
    """All accounts, those who can sign in first."""
    rows = User.objects.order_by("-is_active", "username")
    return render(request, "records/accounts.html", {"accounts": rows})


@needs("manages_accounts")
@require_http_methods(["GET", "POST"])
def new_account(request: HttpRequest) -> HttpResponse:
    return _edit(request, NewAccountForm(request.POST or None), "New account")


@needs("manages_accounts")
@require_http_methods(["GET", "POST"])
def change_account(request: HttpRequest, pk: int) -> HttpResponse:
    account = get_object_or_404(User, pk=pk)
    return _edit(request, AccountForm(request.POST or None, instance=account), str(account))


@needs("manages_accounts")
@require_http_methods(["GET", "POST"])
def set_password(request: HttpRequest, pk: int) -> HttpResponse:
    account = get_object_or_404(User, pk=pk)
    return _edit(request, SetPasswordForm(account, request.POST or None), f"Password of {account}")


def _edit(
    request: HttpRequest, form: "NewAccountForm | AccountForm | SetPasswordForm[User]", title: str
) -> HttpResponse:
    if form.is_bound and form.is_valid():
        form.save()
        messages.success(request, f"{title}: saved.")
        return redirect("accounts")
    status = 422 if form.is_bound else 200
    return render(request, "records/account.html", {"form": form, "title": title}, status=status)
