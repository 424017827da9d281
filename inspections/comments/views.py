"""Writing a comment at the release desk, and answering one there or on the walk."""

from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from firm.people.capabilities import Capability, needs
from firm.web import wants_fragment
from firm.web.going_back import page_of_ours
from inspections.comments import services
from inspections.comments.forms import AnswerForm, CommentForm, NoSuchThing
from inspections.comments.models import Comment
from inspections.comments.showing import place, rights
from inspections.visits.models import Visit
from inspections.visits.refusals import Refused


@needs(Capability.RELEASE)
@require_http_methods(["GET", "HEAD", "POST"])
@vary_on_headers("HX-Request")
def comment_new(request: HttpRequest, pk: int) -> HttpResponse:
    """The form at one place of the desk; sent, the comments of that place."""
    visit = get_object_or_404(Visit.objects.visible_to(request.user).whole(), pk=pk)
    sent = request.POST if request.method == "POST" else None
    try:
        form = CommentForm(sent, visit=visit, at=(sent or request.GET).get("at", ""))
    except NoSuchThing as missing:
        raise Http404("nothing of that name is in this record") from missing
    if sent is not None and form.is_valid():
        try:
            comment = services.comment_on(
                visit, form.subject, form.cleaned_data["text"], by=request.user, pk=form.cleaned_data["id"]
            )
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            if wants_fragment(request):
                kind, _, key = form.at.partition("-")
                return render(request, "inspections/comments/_at.html", place(request, visit, kind, key, write=True))
            return redirect(f"{_desk(visit)}#comment-{comment.pk}")
    template = "_form.html" if wants_fragment(request) else "new.html"
    status = 422 if form.errors else 200
    return render(request, f"inspections/comments/{template}", {"visit": visit, "form": form}, status=status)


@needs(Capability.RELEASE, Capability.RECORD)
@require_POST
@vary_on_headers("HX-Request")
def comment_answer(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Words under a comment, or none; and whether it is done now, or open again."""
    comment = get_object_or_404(
        Comment.objects.filter(visit__in=Visit.objects.visible_to(request.user)).select_related("visit__inspector"),
        pk=pk,
    )
    if not services.may_read(request.user, comment.visit):
        raise PermissionDenied("Only the desk and the inspector of the visit answer its comments.")
    form, problem = AnswerForm(request.POST), ""
    if form.is_valid():
        steps = {"answered": services.answer, "done": services.mark_done, "open": services.open_again}
        try:
            steps[form.cleaned_data["becomes"]](comment, form.cleaned_data["text"], by=request.user)
        except Refused as refusal:
            problem = str(refusal)
    else:
        problem = "An answer has room for 2,000 letters."
    if wants_fragment(request):
        comment = Comment.objects.select_related("visit__inspector").get(pk=comment.pk)
        context = {"comment": comment, "problem": problem, **rights(request, comment.visit)}
        context["typed"] = request.POST.get("text", "") if problem else ""
        return render(request, "inspections/comments/_one.html", context, status=422 if problem else 200)
    if problem:
        messages.error(request, problem, extra_tags="problem")
    return redirect(_back(request, comment))


def _desk(visit: Visit) -> str:
    return reverse("review-detail", args=[visit.pk])


def _back(request: HttpRequest, comment: Comment) -> str:
    wanted = page_of_ours(request, request.POST.get("next", ""), "")
    return f"{wanted.split('#')[0]}#comment-{comment.pk}" if wanted else comment.address
