from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache

from firm.people.capabilities import open_to_all


@open_to_all
@never_cache
def health(request: HttpRequest) -> HttpResponse:
    """Whether this web server answers and reaches the database. Says nothing else: anybody may ask."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        cursor.fetchone()
    return HttpResponse("ok", content_type="text/plain")
