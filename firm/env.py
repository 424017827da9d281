"""Typed readers of the environment: what cannot be read stops the start and names itself.

An empty value counts as not set, so that a compose file may pass `NAME=${NAME:-}` through.
"""

import os
import secrets
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, unquote, urlsplit

from django.core.exceptions import ImproperlyConfigured


def env_text(name: str, default: str = "") -> str:
    """The value of `name`; or the content of the file that `name`_FILE names, for secrets; or `default`.

    Raises ImproperlyConfigured if both are set, or if the file cannot be read.
    """
    value, file_name = os.environ.get(name, ""), os.environ.get(f"{name}_FILE", "")
    if value and file_name:
        raise ImproperlyConfigured(f"{name} and {name}_FILE are both set: keep one")
    if file_name:
        try:
            return Path(file_name).read_text(encoding="utf-8").strip()
        except OSError as error:
            raise ImproperlyConfigured(f"{name}_FILE={file_name!r} cannot be read: {error.strerror}") from error
    return value or default


def env_yes_no(name: str, default: bool) -> bool:
    text = env_text(name, "yes" if default else "no")
    if text not in ("yes", "no"):  # else a typo would silently mean "no"
        raise ImproperlyConfigured(f"{name}={text!r}: say yes or no")
    return text == "yes"


def env_whole_number(name: str, default: int, *, least: int = 0) -> int:
    text = env_text(name, str(default))
    if not text.isascii() or not text.isdigit() or int(text) < least:
        raise ImproperlyConfigured(f"{name}={text!r}: say a whole number, {least} or more")
    return int(text)


def env_list(name: str, default: list[str]) -> list[str]:
    """Comma-separated words."""
    text = env_text(name)
    return [word.strip() for word in text.split(",") if word.strip()] if text else default


def read_or_make_secret(path: Path) -> str:
    """The secret kept in `path`; made at the first call, readable by its owner only.

    Two processes may start at once: the file is written aside and linked into place, so that both read the same one.
    """
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        aside = path.with_name(f"{path.name}.{os.getpid()}")
        descriptor = os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(descriptor, "w", encoding="ascii") as file:
            file.write(secrets.token_urlsafe(50))
        try:
            os.link(aside, path)
        except FileExistsError:
            pass  # the other process was quicker, and its secret holds
        finally:
            aside.unlink()
    return path.read_text(encoding="ascii").strip()


def bucket_options(url: str) -> dict[str, Any]:
    """What `firm.web.bucket` is made with, from s3://KEY:SECRET@host/bucket?region=...; s3+http:// is not encrypted.

    Raises ImproperlyConfigured.
    """
    from botocore.config import Config  # large: only where there is a bucket

    try:
        parts = urlsplit(url)
        host = f"{parts.hostname}:{parts.port}" if parts.port else parts.hostname
    except ValueError:
        parts = urlsplit("")
    scheme = {"s3": "https", "s3+http": "http"}.get(parts.scheme)
    bucket = parts.path.strip("/")
    if not (scheme and parts.hostname and parts.username and parts.password and bucket) or "/" in bucket:
        # Without the value: it holds a secret.
        raise ImproperlyConfigured("MEDIA_BUCKET: say s3://KEY:SECRET@host/bucket, or leave it out for a folder")
    return {
        "access_key": unquote(parts.username),
        "secret_key": unquote(parts.password),
        "endpoint_url": f"{scheme}://{host}",
        "bucket_name": bucket,
        "region_name": parse_qs(parts.query).get("region", ["us-east-1"])[0],
        "file_overwrite": False,
        "client_config": Config(
            signature_version="s3v4",
            s3={"addressing_style": "path"},  # the only one that works with a store under a plain host name
            connect_timeout=5,
            read_timeout=20,
            retries={"mode": "standard", "total_max_attempts": 3},
            # Not every store of this kind knows the newer checksums.
            request_checksum_calculation="when_required",
            response_checksum_validation="when_required",
        ),
    }
