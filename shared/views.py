"""The ways in and out: signing in, passwords, one's own account, the first page."""

from django.contrib import messages
from django.contrib.auth import views as auth_views
from django.contrib.auth.decorators import login_required
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils.translation import gettext as _

from shared import actions
from shared.forms import (
    AccountForm,
    NewPasswordLinkForm,
    OwnPasswordForm,
    PasswordSetForm,
    SignInForm,
)
from shared.menu import home_url
from shared.models import Person, Role, SignInTry
from shared.viewer import allowed

TOO_MANY_REQUESTS = 429


def home(request):
    """Go to the first page of the person's home site, or to where one gets in."""
    viewer = request.viewer
    if viewer.person is None:
        return redirect("sign-in" if Person.objects.exists() else "first-site")
    if viewer.home is None:
        return render(request, "shared/no_page.html")
    return redirect("site-home", viewer.home.slug)


@allowed(*Role.values)
def site_home(request):
    """Go to the first page of the role's menu; say so where there is none."""
    url = home_url(request.role, request.site)
    return redirect(url) if url else render(request, "shared/no_page.html")


class Slowed:
    """Mixin of a form's view: each try is counted, and too many within the hour wait."""

    wanted = ""
    typed_in = ""

    def post(self, request, *args, **kwargs):
        self.trial = actions.begin_try(
            self.wanted,
            request.POST.get(self.typed_in, ""),
            request.META["REMOTE_ADDR"],
            at=request.viewer.at,
        )
        if self.trial is None:
            return render(request, "shared/too_many.html", status=TOO_MANY_REQUESTS)
        return super().post(request, *args, **kwargs)


class SignIn(Slowed, auth_views.LoginView):
    template_name = "shared/sign_in.html"
    form_class = SignInForm
    redirect_authenticated_user = True
    wanted = SignInTry.Wanted.SIGN_IN
    typed_in = "username"

    def get(self, request, *args, **kwargs):
        if not Person.objects.exists():
            return redirect("first-site")
        return super().get(request, *args, **kwargs)

    def form_valid(self, form):
        actions.forget_tries(self.trial)
        return super().form_valid(form)


class PasswordReset(Slowed, auth_views.PasswordResetView):
    template_name = "shared/password_reset.html"
    form_class = NewPasswordLinkForm
    success_url = reverse_lazy("password-sent")
    wanted = SignInTry.Wanted.NEW_PASSWORD
    typed_in = "email"


class PasswordSent(auth_views.PasswordResetDoneView):
    template_name = "shared/password_sent.html"


class PasswordSet(auth_views.PasswordResetConfirmView):
    template_name = "shared/password_set.html"
    form_class = PasswordSetForm
    success_url = reverse_lazy("sign-in")

    def form_valid(self, form):
        messages.success(self.request, _("The new password holds. Sign in with it."))
        return super().form_valid(form)


class PasswordChange(auth_views.PasswordChangeView):
    template_name = "shared/password_change.html"
    form_class = OwnPasswordForm
    success_url = reverse_lazy("account")

    def form_valid(self, form):
        messages.success(self.request, _("The new password holds."))
        return super().form_valid(form)


@login_required
def account(request):
    form = AccountForm(request.viewer, request.POST or None)
    if request.method == "POST" and form.is_valid():
        actions.change_account(request.viewer.person, form.cleaned_data)
        messages.success(request, _("Kept."))
        return redirect("account")
    return render(request, "shared/account.html", {"form": form})
