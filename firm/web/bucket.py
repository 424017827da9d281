"""Media in an object store of the S3 kind, for several hosts that share no folder. Chosen by `MEDIA_BUCKET`."""

from collections.abc import Iterator
from typing import Any

from storages.backends.s3 import S3Storage


class Bucket(S3Storage):
    """An object is there whole or not at all: the store gives it its name when all of it has come.

    Nothing is served by its address: objects are private, and every file goes through a view that asks who may see it.
    """

    def names(self) -> Iterator[str]:
        for found in self.bucket.objects.all():
            yield found.key

    def put(self, name: str, content: Any) -> None:
        """Under exactly this name, whatever stood there: for a restore."""
        self.bucket.Object(name).upload_fileobj(content, ExtraArgs=self._get_write_parameters(name, content))
