#!/bin/sh
# Double click on macOS or Linux: prepares Nervure once and makes the demo in demo/.
cd "$(dirname "$0")" || exit 1
if command -v python3 >/dev/null 2>&1; then
  python3 tools/tasks.py demo
  for opener in open xdg-open; do
    if command -v "$opener" >/dev/null 2>&1 && [ -f demo/out/index.html ]; then
      "$opener" demo/out/index.html
      break
    fi
  done
else
  echo "Nervure needs Python 3.11 or newer. Install it, then open this file again."
fi
printf 'Press Enter to close. '
read -r _
