"""WeasyPrint, imported in one place, late, and without its side effect.

Importing it makes Pillow accept truncated images in the whole process; a photo that is checked later in the same worker
must not pass by that. Only the worker needs this module: nothing that the web server imports may import it.
"""

from PIL import ImageFile

_before = ImageFile.LOAD_TRUNCATED_IMAGES

from weasyprint import CSS, HTML, Attachment  # noqa: E402
from weasyprint.text.fonts import FontConfiguration  # noqa: E402
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse  # noqa: E402

ImageFile.LOAD_TRUNCATED_IMAGES = _before

__all__ = [
    "CSS",
    "HTML",
    "Attachment",
    "FatalURLFetchingError",
    "FontConfiguration",
    "URLFetcher",
    "URLFetcherResponse",
]
