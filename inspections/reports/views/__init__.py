"""Pages: `desk` to release, `issued` for what was released, `links` to give it away, `client` for whoever gets it."""
