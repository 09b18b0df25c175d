"""Photos and papers in an S3 bucket, or in another store that speaks as Amazon's does."""

import contextlib

from boto3.exceptions import Boto3Error
from botocore.config import Config
from botocore.exceptions import BotoCoreError, ClientError
from storages.backends.s3 import S3Storage

MEBIBYTE = 1024 * 1024


class ObjectStore(S3Storage):
    """A bucket that fails as a disk does: what goes wrong is an `OSError`, and none comes late."""

    def __init__(self, *, endpoint_url=None, **options):
        # A store at an address of its own rarely has a host name for each bucket.
        style = "path" if endpoint_url else "auto"
        # A person waits: give up well before the web server gives up on us.
        config = Config(
            s3={"addressing_style": style},
            connect_timeout=5,
            read_timeout=20,
            retries={"mode": "standard", "total_max_attempts": 3},
        )
        super().__init__(
            endpoint_url=endpoint_url,
            client_config=config,
            file_overwrite=True,  # names follow from the content: it is the same file again
            max_memory_size=MEBIBYTE,  # what is larger is read by way of a temporary file
            **options,
        )

    def _open(self, name, mode="rb"):
        with _failing_like_a_disk():
            stored = super()._open(name, mode)
            stored.open()  # fetched now: in the middle of an answer there is no way to say sorry
            return stored

    def _save(self, name, content):
        with _failing_like_a_disk():
            return super()._save(name, content)

    def delete(self, name):
        with _failing_like_a_disk():
            super().delete(name)

    def exists(self, name):
        with _failing_like_a_disk():
            return super().exists(name)

    def listdir(self, name):
        with _failing_like_a_disk():
            return super().listdir(name)

    def size(self, name):
        with _failing_like_a_disk():
            return super().size(name)

    def get_modified_time(self, name):
        with _failing_like_a_disk():
            return super().get_modified_time(name)


@contextlib.contextmanager
def _failing_like_a_disk():
    try:
        yield
    except (BotoCoreError, Boto3Error, ClientError) as error:
        raise OSError(f"The object store failed: {error}") from error
