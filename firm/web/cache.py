"""The cache of many machines. It counts wrong passwords and keeps what can be worked out anew: nothing else."""

import logging
from typing import Any

from django.core.cache.backends.redis import RedisCache
from redis.exceptions import ConnectionError, TimeoutError

log = logging.getLogger(__name__)
GONE = (ConnectionError, TimeoutError, OSError)


class ForgivingRedis(RedisCache):
    """Redis that may be gone for a while: nothing is found then, and nothing kept, but people can sign in and work.

    Meanwhile wrong passwords are not counted. Whoever can stop Redis stands inside already.
    """

    def get(self, key: str, default: Any = None, version: int | None = None) -> Any:
        return self._try(super().get, default, key, default, version)

    def add(self, key: str, value: Any, *args: Any, **more: Any) -> bool:
        return self._try(super().add, True, key, value, *args, **more)

    def set(self, key: str, value: Any, *args: Any, **more: Any) -> None:
        return self._try(super().set, None, key, value, *args, **more)

    def delete(self, key: str, version: int | None = None) -> bool:
        return self._try(super().delete, False, key, version)

    def incr(self, key: str, delta: int = 1, version: int | None = None) -> int:
        return self._try(super().incr, delta, key, delta, version)

    def get_many(self, keys: Any, version: int | None = None) -> dict[str, Any]:
        return self._try(super().get_many, {}, keys, version)

    def set_many(self, data: dict[str, Any], *args: Any, **more: Any) -> list[str]:
        return self._try(super().set_many, list(data), data, *args, **more)

    @staticmethod
    def _try(ask: Any, otherwise: Any, *args: Any, **more: Any) -> Any:
        try:
            return ask(*args, **more)
        except GONE as error:
            log.warning("the cache does not answer: %s", error)
            return otherwise
