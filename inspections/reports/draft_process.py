"""The process that draws a draft: a frozen record on standard input, its PDF on standard output."""

import json
import sys

_MOST_BYTES = 2 * 1024**3  # of memory
_MOST_CPU_SECONDS = 120


def _main() -> None:
    import resource

    import django

    resource.setrlimit(resource.RLIMIT_AS, (_MOST_BYTES, _MOST_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (_MOST_CPU_SECONDS, _MOST_CPU_SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    django.setup()
    from django.utils import timezone

    from inspections.reports.pdf import Issue, draw_pdf

    snapshot = json.load(sys.stdin)
    issue = Issue(number="draft", version=0, issued_at=timezone.now(), issued_by="", is_draft=True)
    sys.stdout.buffer.write(draw_pdf(snapshot, issue).pdf)


if __name__ == "__main__":
    _main()
