#!/bin/sh
# Checks SVG files against the W3C's DTD of SVG 1.1 (Second Edition, REC-SVG11-20110816).
# Needs xmllint and Debian's w3c-sgml-lib.
# Use: tests/validate-svg.sh FILE...
set -eu
DTD=${SVG_DTD:-/usr/share/xml/w3c-sgml-lib/schema/dtd/REC-SVG11-20110816/svg11.dtd}
[ "$#" -gt 0 ] || { echo "use: $0 FILE..." >&2; exit 2; }
command -v xmllint >/dev/null || { echo "$0: xmllint is not installed" >&2; exit 2; }
[ -r "$DTD" ] || { echo "$0: no DTD at $DTD; install w3c-sgml-lib or set SVG_DTD" >&2; exit 2; }
xmllint --nonet --noout --dtdvalid "$DTD" "$@"
