from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticFiles(CompressedManifestStaticFilesStorage):
    """Static files under names that hold their content's hash, so that a browser may keep them for ever.

    Imports between our ES modules are rewritten too: else one module would be loaded twice, under two names.
    """

    support_js_module_import_aggregation = True
