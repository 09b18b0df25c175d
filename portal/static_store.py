"""Style sheets and scripts under names that carry their digest, in production."""

from whitenoise.storage import CompressedManifestStaticFilesStorage

IMPORT = r"""(?P<matched>\bfrom\s+["'](?P<url>\./[\w.-]+\.js)["'])"""


class StaticStore(CompressedManifestStaticFilesStorage):
    """A script of ours imports another by its digest's name: the plain names are gone.

    Django can do so for every script, and stumbles over examples in the comments of others' ones.
    """

    patterns = (
        *CompressedManifestStaticFilesStorage.patterns,
        ("portal/*.js", ((IMPORT, 'from "%(url)s"'),)),
    )
