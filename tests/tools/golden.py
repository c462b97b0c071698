"""The golden log of the entry format, checked by a second route: Python's own `json` and `hashlib`, no code of the app.

    python3 tests/tools/golden.py            checks texts, identities, links and attachments, and holds them against the frozen hashes
    python3 tests/tools/golden.py --write    writes the hashes, entries first, then attachments

Canonical is what RFC 8785 says: members sorted by the UTF-16 code units of their names, no white space, only the escapes that JSON
demands. The log holds no number with a fraction, so that integers are all the numbers there are.
"""

import base64
import hashlib
import json
import sys
from pathlib import Path

FOLDER = Path(__file__).resolve().parent.parent / "native" / "book" / "golden"
ENTRIES = FOLDER / "format-2.ndjson"
ATTACHMENTS = FOLDER / "format-2.attachments.ndjson"
HASHES = FOLDER / "format-2.sha256"
MOST = 2**53 - 1


def canonical(value):
    if isinstance(value, dict):
        names = sorted(value, key=lambda name: name.encode("utf-16-be"))
        return "{" + ",".join(json.dumps(name, ensure_ascii=False) + ":" + canonical(value[name]) for name in names) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(canonical, value)) + "]"
    if isinstance(value, bool) or value is None:
        return json.dumps(value)
    if isinstance(value, int):
        if abs(value) > MOST:
            raise SystemExit(f"{value} does not survive every JSON reader")
        return str(value)
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    raise SystemExit(f"{value!r} is no value of the format")


def once(pairs):
    members = dict(pairs)
    if len(members) != len(pairs):
        raise SystemExit(f"a name occurs twice: {[name for name, _ in pairs]}")
    return members


def lines(path):
    for line in path.read_text(encoding="utf-8").splitlines():
        value = json.loads(line, object_pairs_hook=once)
        if canonical(value) != line:
            raise SystemExit(f"not canonical: {line}")
        yield line, value


def hashes():
    tips = {}
    for line, entry in lines(ENTRIES):
        chain = entry["phone"], entry["scope"]
        seq, prev = tips.get(chain, (-1, None))
        if (entry["seq"], entry["prev"]) != (seq + 1, prev):
            raise SystemExit(f"does not follow: {line}")
        digest = hashlib.sha256(line.encode("utf-8")).hexdigest()
        tips[chain] = entry["seq"], digest
        yield digest
    for line, attachment in lines(ATTACHMENTS):
        salted = bytes.fromhex(attachment["salt"]) + base64.b64decode(attachment["bytes"], validate=True)
        digest = hashlib.sha256(salted).hexdigest()
        if digest != attachment["hash"]:
            raise SystemExit(f"not what its hash says: {line}")
        yield digest


def main():
    found = list(hashes())
    if sys.argv[1:] == ["--write"]:
        HASHES.write_text("\n".join(found) + "\n", encoding="utf-8")
    elif found != HASHES.read_text(encoding="utf-8").splitlines():
        raise SystemExit("not the frozen hashes")
    print(f"{len(found)} hashes")


main()
