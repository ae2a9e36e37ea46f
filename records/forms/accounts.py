"""Accounts: who may sign in, in which role."""

from django.contrib.auth.forms import UserCreationForm
from django.forms import ModelForm

from records.models import User


class NewAccountForm(UserCreationForm):  # type: ignore[type-arg]
    """A new account; the password is typed twice and told to its owner by word of mouth."""

    intro = "Tell the owner the password in person; it can be set anew here."

    class Meta:
        model = User
        fields = ("username", "first_name", "last_name", "email", "role")


class AccountForm(ModelForm):  # type: ignore[type-arg]
    """An account as it stands; accounts are closed, never deleted, as records name them."""

    intro = "An account that is not active cannot sign in. Its name stays in the records."

    class Meta:
        model = User
        fields = ("first_name", "last_name", "email", "role", "is_active")
