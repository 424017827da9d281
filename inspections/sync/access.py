"""Who may speak to the server as a tablet: those who record. The answer is JSON, never a page to sign in on."""

from collections.abc import Callable
from functools import wraps

from django.http import HttpRequest, HttpResponse, JsonResponse

from firm.people.capabilities import Capability


def for_tablets(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """401 to the signed-out and 403 to those who do not record, so that the tablet keeps everything and says why."""

    @wraps(view)
    def guarded(request: HttpRequest, *args, **kwargs) -> HttpResponse:
        if not request.user.is_authenticated:
            return JsonResponse({"problem": "signed out"}, status=401)
        if not request.user.may(Capability.RECORD):
            return JsonResponse({"problem": "You may not record inspections."}, status=403)
        return view(request, *args, **kwargs)

    guarded.access = (Capability.RECORD,)
    return guarded
