"""Makes this process one that shows pages.

Whoever opens a workspace sets Django up with the settings of the records; commands do so before they know that
they will serve. So the pages' settings are laid on top instead of being a second settings module that would come
too late. Nothing that has been used by then reads them.
"""

from __future__ import annotations

from django.conf import settings

from cubital.web import page_settings
from cubital.workspace.opening import prepare_django


def configure_pages() -> None:
    """Sets Django up for pages; calling it again changes nothing."""
    prepare_django()
    for name in dir(page_settings):
        if name.isupper() and name != "FONT_FOLDER":
            setattr(settings, name, getattr(page_settings, name))
