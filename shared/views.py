"""The ways in and out: signing in, passwords, one's own account, the first page."""

from datetime import timedelta

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth import views as auth_views
from django.contrib.auth.decorators import login_required
from django.shortcuts import redirect, render
from django.urls import reverse_lazy
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from django.views.generic import FormView

from shared import actions
from shared.forms import (
    AccountForm,
    NewPasswordLinkForm,
    OwnPasswordForm,
    PasswordSetForm,
    SignInForm,
    SurveyorCodeForm,
)
from shared.menu import home_url
from shared.models import Person, Role, SignInTry, SurveyorLink
from shared.viewer import LET_IN_BY, Viewer, allowed

# in a visitor's session: the link that they opened, until its code is typed
OPENED = "opened_link"
SURVEYOR_STAYS = timedelta(hours=8)
BACKEND = "django.contrib.auth.backends.ModelBackend"
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

    def account(self):
        """Whose tries are counted together."""
        return self.request.POST.get(self.typed_in, "")

    def post(self, request, *args, **kwargs):
        self.trial = actions.begin_try(
            self.wanted,
            self.account(),
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


@require_safe
@never_cache
def surveyor_link(request, token):
    """Take the secret out of the address, so that no later one shows or sends it."""
    link = SurveyorLink.objects.filter(token_sha256=actions.hash_of(token)).first()
    request.session.pop(OPENED, None)
    if link is not None:
        request.session[OPENED] = link.pk
    return redirect("surveyor-code")


@method_decorator(never_cache, "dispatch")
class SurveyorCode(Slowed, FormView):
    """Ask for the code of the link that was opened; until it is right, name nobody."""

    template_name = "shared/surveyor_code.html"
    form_class = SurveyorCodeForm
    success_url = reverse_lazy("home")
    wanted = SignInTry.Wanted.CODE

    def dispatch(self, request, *args, **kwargs):
        opened = SurveyorLink.objects.live().filter(pk=request.session.get(OPENED))
        self.link = opened.select_related("person").first()
        if self.link is None:
            return render(request, "shared/surveyor_no_link.html")
        return super().dispatch(request, *args, **kwargs)

    def account(self):
        return self.link.token_sha256

    def get_form_kwargs(self):
        return super().get_form_kwargs() | {"link": self.link}

    def form_valid(self, form):
        actions.forget_tries(self.trial)
        person = self.link.person
        if not Viewer(person, self.request.viewer.at, by_link=True).memberships:
            form.add_error(None, _("The code is right, but you have no role at any site today."))
            return self.form_invalid(form)
        login(self.request, person, backend=BACKEND)
        session = self.request.session
        session.pop(OPENED, None)
        session[LET_IN_BY] = self.link.pk
        # counted from now on, whatever is looked at meanwhile
        session.set_expiry(SURVEYOR_STAYS)
        return super().form_valid(form)


@login_required
def account(request):
    form = AccountForm(request.viewer, request.POST or None)
    if request.method == "POST" and form.is_valid():
        actions.change_account(request.viewer.person, form.cleaned_data)
        messages.success(request, _("Kept."))
        return redirect("account")
    return render(request, "shared/account.html", {"form": form})
