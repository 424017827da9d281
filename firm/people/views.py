from django.contrib import messages
from django.contrib.auth.views import LoginView, LogoutView, PasswordChangeView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse_lazy
from django.views.decorators.http import require_http_methods, require_safe

from firm.people.capabilities import Capability, needs, open_to_all, signed_in
from firm.people.forms import PersonForm, SignInForm
from firm.people.models import User
from firm.people.services import LastAdministrator, save_person


class SignIn(LoginView):
    form_class = SignInForm
    template_name = "firm/people/sign_in.html"
    redirect_authenticated_user = True

    def form_invalid(self, form: SignInForm) -> HttpResponse:
        response = super().form_invalid(form)
        if form.is_throttled:
            response.status_code = 429
        return response


class ChangePassword(PasswordChangeView):
    template_name = "firm/people/change_password.html"
    success_url = reverse_lazy("home")

    def form_valid(self, form) -> HttpResponse:
        messages.success(self.request, "Your password is changed.")
        return super().form_valid(form)


sign_in = open_to_all(SignIn.as_view())
sign_out = signed_in(LogoutView.as_view())
change_password = signed_in(ChangePassword.as_view())


@needs(Capability.ADMINISTER)
@require_safe
def people(request: HttpRequest) -> HttpResponse:
    everybody = User.objects.order_by("-is_active", "last_name", "first_name", "username")
    return render(request, "firm/people/people.html", {"people": everybody})


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def person_add(request: HttpRequest) -> HttpResponse:
    return _edit(request, User())


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def person_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, get_object_or_404(User, pk=pk))


def _edit(request: HttpRequest, person: User) -> HttpResponse:
    is_new = person.pk is None
    form = PersonForm(request.POST or None, instance=person)
    if request.method == "POST" and form.is_valid():
        try:
            save_person(form.save(commit=False), by=request.user, new_password=form.cleaned_data["new_password"])
        except LastAdministrator as refusal:
            form.add_error("is_administrator", str(refusal))
        else:
            messages.success(request, f"{person.display_name} is {'added' if is_new else 'saved'}.")
            return redirect("people")
    return render(request, "firm/people/edit.html", {"form": form, "is_new": is_new})
