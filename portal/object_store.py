"""Photos and papers in an S3 bucket, or in another store that speaks as Amazon's does."""

import contextlib
import shutil
import tempfile
import threading
import time
from collections.abc import Iterator

from boto3.exceptions import Boto3Error
from boto3.s3.transfer import TransferConfig
from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from django.core.files.base import File
from storages.backends.s3 import S3Storage
from storages.utils import clean_name

from readiness.patience import Patience, current
from readiness.photos.store import StoreUnreachable

MEBIBYTE = 1024 * 1024

# Seconds to connect, seconds without a byte of an answer, tries in all.
WAITS = {
    Patience.PAGE: (1, 1.2, 1),
    Patience.PERSON: (2, 10, 1),
    Patience.WORKER: (2, 10, 2),
}
# One request a file, up to the largest photo: many would wait for a silent store one by one.
IN_ONE_PIECE = TransferConfig(multipart_threshold=64 * MEBIBYTE, use_threads=False)
HOLD_SECONDS, LONGEST_HOLD_SECONDS = 10, 60
ANSWERED_BELOW = 500
"""An HTTP status below this is an answer of a store that works."""


class Breaker:
    """Remembers in this process that a store does not answer, so that not everybody waits for it.

    After a failure nobody asks for some seconds; then one may, and the others go on not asking
    until that one had an answer. Each failure in a row doubles the pause.
    """

    def __init__(self):
        self._lock = threading.Lock()
        self.reset()

    def reset(self) -> None:
        self._failures, self._closed_until = 0, 0.0

    def let_through(self) -> bool:
        with self._lock:
            if not self._failures:
                return True
            if time.monotonic() < self._closed_until:
                return False
            self._closed_until = time.monotonic() + HOLD_SECONDS
            return True

    def failed(self) -> None:
        with self._lock:
            pause = min(LONGEST_HOLD_SECONDS, HOLD_SECONDS * 2**self._failures)
            self._failures = min(self._failures + 1, 10)
            self._closed_until = time.monotonic() + pause

    def worked(self) -> None:
        with self._lock:
            self.reset()


class _Breakers(dict):
    """One for each store, whatever is kept in it."""

    def __missing__(self, store):
        return self.setdefault(store, Breaker())


BREAKERS = _Breakers()


class ObjectStore(S3Storage):
    """A bucket that fails as a disk does: what goes wrong is an `OSError`, and none comes late."""

    def __init__(self, *, endpoint_url=None, **options):
        # A store at an address of its own rarely has a host name for each bucket.
        self._style = "path" if endpoint_url else "auto"
        self._resources: dict[Patience, object] = {}
        self._making = threading.Lock()
        super().__init__(
            endpoint_url=endpoint_url,
            client_config=self._config(Patience.PERSON),
            transfer_config=IN_ONE_PIECE,
            file_overwrite=True,  # names follow from the content: it is the same file again
            **options,
        )
        self.breaker = BREAKERS[endpoint_url, self.bucket_name]

    def _config(self, patience: Patience) -> Config:
        connect, read, attempts = WAITS[patience]
        return Config(
            s3={"addressing_style": self._style},
            connect_timeout=connect,
            read_timeout=read,
            retries={"mode": "standard", "total_max_attempts": attempts},
        )

    @property
    def connection(self):
        """A client that waits as long as whoever asks now; one for all threads, as they may."""
        patience = current()
        with self._making:
            if patience not in self._resources:
                self._resources[patience] = self._create_session().resource(
                    "s3",
                    region_name=self.region_name,
                    use_ssl=self.use_ssl,
                    endpoint_url=self.endpoint_url,
                    config=self._config(patience),
                    verify=self.verify,
                )
            return self._resources[patience]

    @property
    def bucket(self):
        return self.connection.Bucket(self.bucket_name)

    def _open(self, name, mode="rb"):
        """The whole object, fetched now: in the middle of an answer nobody can say sorry."""
        key = self._normalize_name(clean_name(name))
        with self._failing_like_a_disk():
            try:
                answer = self.connection.meta.client.get_object(Bucket=self.bucket_name, Key=key)
            except ClientError as error:
                if error.response["Error"]["Code"] == "NoSuchKey":
                    raise FileNotFoundError(f"Not in the object store: {name}") from error
                raise
            fetched = tempfile.SpooledTemporaryFile(max_size=MEBIBYTE)  # noqa: SIM115
            shutil.copyfileobj(answer["Body"], fetched, MEBIBYTE)
        fetched.seek(0)
        return File(fetched, name)

    def _save(self, name, content):
        with self._failing_like_a_disk():
            return super()._save(name, content)

    def delete(self, name):
        with self._failing_like_a_disk():
            super().delete(name)

    def exists(self, name):
        with self._failing_like_a_disk():
            return super().exists(name)

    def listdir(self, name):
        with self._failing_like_a_disk():
            return super().listdir(name)

    def size(self, name):
        with self._failing_like_a_disk():
            return super().size(name)

    def get_modified_time(self, name):
        with self._failing_like_a_disk():
            return super().get_modified_time(name)

    @contextlib.contextmanager
    def _failing_like_a_disk(self) -> Iterator[None]:
        """Ask the store, unless it was silent just now and this is not background work."""
        if current() is not Patience.WORKER and not self.breaker.let_through():
            raise StoreUnreachable("The object store failed: it did not answer a moment ago.")
        try:
            yield
        except (BotoCoreError, Boto3Error, ClientError) as error:
            if _answered(error):
                self.breaker.worked()
            else:
                self.breaker.failed()
            raise StoreUnreachable(f"The object store failed: {error}") from error
        except FileNotFoundError:
            self.breaker.worked()
            raise
        self.breaker.worked()


def _answered(error: Exception) -> bool:
    """Was it an answer, such as that one may not do this, from a store that is there?"""
    if not isinstance(error, ClientError):
        return False
    status = error.response.get("ResponseMetadata", {}).get("HTTPStatusCode", ANSWERED_BELOW)
    return status < ANSWERED_BELOW
