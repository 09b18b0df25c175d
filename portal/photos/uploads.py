"""Receiving files of a request: straight to disk, and never past the limit for one photo."""

from django.core.files.uploadhandler import TemporaryFileUploadHandler

from readiness.photos.limits import LIMITS


class LimitedUploadHandler(TemporaryFileUploadHandler):
    """Writes each file to a temporary file and stops writing it at the byte limit.

    The request goes on, so the other files and the typed text of the form are kept; the file is
    marked ``too_large`` and the intake refuses it by name.
    """

    def new_file(self, *args, **kwargs):
        super().new_file(*args, **kwargs)
        self.too_large = False

    def receive_data_chunk(self, raw_data, start):
        if self.too_large or start + len(raw_data) > LIMITS.file_bytes:
            self.too_large = True
            return
        super().receive_data_chunk(raw_data, start)

    def file_complete(self, file_size):
        uploaded = super().file_complete(file_size)
        uploaded.too_large = self.too_large  # type: ignore[attr-defined]  # our own mark
        return uploaded
