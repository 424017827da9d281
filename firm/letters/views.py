from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from firm.letters.forms import LetterForm, RemindersForm
from firm.letters.kinds import KINDS, PLACEHOLDERS, Kind
from firm.letters.models import LetterText, Reminders
from firm.letters.services import forget_words, preview, save_reminders, save_words, words_of
from firm.people.capabilities import Capability, needs


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def letters(request: HttpRequest) -> HttpResponse:
    """Every mail whose words may be changed, and when reminders go out."""
    form = RemindersForm(request.POST if request.method == "POST" else None, instance=Reminders.current())
    if request.method == "POST" and form.is_valid():
        save_reminders(form.save(commit=False), by=request.user)
        messages.success(request, "Stored. Reminders that were sent stay sent.")
        return redirect("letters")
    own = set(LetterText.objects.values_list("kind", flat=True))
    context = {"form": form, "letters": [(kind, kind.key in own) for kind in KINDS.values()]}
    return render(request, "firm/letters/letters.html", context, status=422 if request.method == "POST" else 200)


@needs(Capability.ADMINISTER)
@require_http_methods(["GET", "HEAD", "POST"])
def letter_edit(request: HttpRequest, key: str) -> HttpResponse:
    """The words of one mail. `look` shows the mail as typed, without storing it."""
    kind = _kind(key)
    words = words_of(kind.key)
    form = LetterForm(request.POST if request.method == "POST" else None, kind=kind, initial=vars(words))
    is_right = request.method == "POST" and form.is_valid()
    if is_right and "look" not in request.POST:
        save_words(kind.key, form.words(), by=request.user)
        messages.success(request, "Stored. Mails from now on have these words.")
        return redirect("letter-edit", kind.key)
    if is_right:
        words = form.words()
    context = {
        "kind": kind,
        "form": form,
        "is_own": LetterText.objects.filter(kind=kind.key).exists(),
        "is_stored": request.method != "POST",
        "preview": None if form.errors else preview(words),
        "placeholders": [(f"{{{name}}}", PLACEHOLDERS[name][0], name in kind.needed) for name in kind.placeholders],
    }
    return render(request, "firm/letters/edit.html", context, status=422 if form.errors else 200)


@needs(Capability.ADMINISTER)
@require_POST
def letter_first_words(request: HttpRequest, key: str) -> HttpResponse:
    kind = _kind(key)
    forget_words(kind.key, by=request.user)
    messages.success(request, "The mail has its first words again.")
    return redirect("letter-edit", kind.key)


def _kind(key: str) -> Kind:
    if key not in KINDS:
        raise Http404
    return KINDS[key]
