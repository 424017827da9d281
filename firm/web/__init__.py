"""What every view may use: which part of a page is wanted, error pages, the context of all templates, the log line."""

from firm.web.fragments import wants_fragment

__all__ = ["wants_fragment"]
