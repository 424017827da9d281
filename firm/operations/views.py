from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from firm import audit
from firm.backup import services as backups
from firm.backup.models import Backup
from firm.jobs.bell import ring
from firm.operations import state
from firm.people.capabilities import Capability, needs, open_to_all


@needs(Capability.ADMINISTER)
@require_safe
def operations(request: HttpRequest) -> HttpResponse:
    context = {
        "warnings": state.warnings(),
        "lines": state.lines(),
        "failures": [(job, job._meta.label_lower) for job in state.failures()],
        "disks": state.disks(),
        "about": state.about(),
        "backups": Backup.objects.all()[:10],
        "proved": state.last_proved_backup(),
        "is_on_the_data_disk": state.backups_are_on_the_data_disk(),
    }
    return render(request, "firm/operations/operations.html", context)


@needs(Capability.ADMINISTER)
@require_POST
def job_again(request: HttpRequest, kind: str, pk: int) -> HttpResponse:
    """Let a failed job run again."""
    job_class = state.find_job_class(kind)
    if job_class is None:
        raise Http404
    job = get_object_or_404(job_class, pk=pk)
    if job.try_again():
        audit.record(request.user, "let run again", job)
        ring(job)
        messages.success(request, "It waits for the worker again.")
    else:
        messages.error(request, "It no longer waits for somebody: it runs, or it is done.")
    return redirect("operations")


@needs(Capability.ADMINISTER)
@require_POST
def backup_now(request: HttpRequest) -> HttpResponse:
    audit.record(request.user, "asked for", backups.ask("backup"))
    messages.success(request, "The worker makes a backup now and restores it for trial. Reload to see how far it is.")
    return redirect("operations")


@open_to_all
@never_cache
@require_safe
def ready(request: HttpRequest) -> HttpResponse:
    """Whether work gets done, for a watcher; says no more than that, since anybody may ask."""
    is_ready = state.is_ready()
    return HttpResponse(
        "ready" if is_ready else "not ready", content_type="text/plain", status=200 if is_ready else 503
    )
