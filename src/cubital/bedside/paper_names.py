"""The papers for wall, trolley, badge and bedside, by the names that commands and pages use."""

from __future__ import annotations

SHEETS = ("volumes", "short-draw", "stop-line", "badge", "leaflet")
