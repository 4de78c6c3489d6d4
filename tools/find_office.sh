#!/bin/sh
# Finds LibreOffice's spreadsheet for the tests that recalculate a workbook; installs it from the distribution's packages
# where this user may. Says in one line what is missing; the tests that need it are then skipped and say why.
found() { command -v soffice >/dev/null 2>&1; }
if found; then exit 0; fi
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
  echo "Installing LibreOffice's spreadsheet for the tests that recalculate a workbook ..."
  if apt-get update -qq >/dev/null 2>&1 && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends libreoffice-calc-nogui >/dev/null 2>&1 && found; then exit 0; fi
fi
echo "No LibreOffice found: the tests that recalculate a workbook will be skipped. Install it with your system's package manager (package 'libreoffice-calc-nogui')."
exit 0
