from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticFiles(CompressedManifestStaticFilesStorage):
    """Static files under names that hold their content's hash, so that a browser may keep them for ever.

    Imports inside ES modules are not rewritten: Django would rewrite vendored files too and stumbles over them. They
    lead to the plain name, which is kept beside the hashed one and cached for a minute only. So a module that holds
    state is imported by others or named in a script tag, never both: those would be two copies of it.
    """
