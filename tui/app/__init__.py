"""The application, its help, and where each screen lies."""

from armrise.tui.app.lean import import_asyncio

import_asyncio()
