"""Follows the audit trail of a report with nothing but Python: `python3 verify_trail.py FOLDER`.

FOLDER is where the archive for an auditor was unpacked. It needs no network, no database and nothing installed; any
Python from 3.9 on will do. It asks

1. whether every file is the one that the manifest names by its SHA-256,
2. whether every seal follows from the one before it, and was made over the events that it names by their hashes,
3. whether every event in the archive is one of those, byte for byte, at its place,
4. whether the chain goes through the head that is printed in the report, and through the heads noted outside,
5. whether every signature has its event, and the one under the report the hash of the report's content.

The chain starts with the first event that the report rests on, and ends where it stood when the archive was made. Of
events that do not belong to this report there is only the hash. Run verify.py on the folder `report` for the numbers.
"""

import csv
import hashlib
import json
import pathlib
import sys

csv.field_size_limit(10**9)  # a seal over many events names them all in one cell


class Archive:
    """The unpacked files, and what was found wrong with them."""

    def __init__(self, folder):
        self.folder = pathlib.Path(folder)
        self.wrong, self.done = [], []
        self.seals = {int(row["seal"]): row for row in self.table("trail/seals.csv")}
        self.events = [json.loads(line) for line in self.text("trail/events.jsonl").split("\n") if line]
        self.content = json.loads(self.text("report/content.json"))

    def text(self, name):
        return (self.folder / name).read_bytes().decode("utf-8")

    def table(self, name):
        return list(csv.DictReader(self.text(name).splitlines(keepends=True)))

    def check(self, what, count, found):
        """Remember what was checked, and what was found wrong."""
        self.wrong += found
        self.done.append(f"{what}: {count} checked, {len(found)} wrong")


def files(archive):
    """Every file against the manifest, and no other file beside them."""
    listed = dict(reversed(line.split("  ", 1)) for line in archive.text("manifest.txt").splitlines() if line)
    there = {str(file.relative_to(archive.folder).as_posix()) for file in archive.folder.rglob("*") if file.is_file()}
    found = [f"{name} is missing" for name in sorted(listed.keys() - there)]
    found += [f"{name} is not in the manifest" for name in sorted(there - listed.keys() - {"manifest.txt"})]
    for name in sorted(listed.keys() & there):
        if hashlib.sha256((archive.folder / name).read_bytes()).hexdigest() != listed[name]:
            found.append(f"{name} is not the file that the manifest names")
    archive.check("files against the manifest", len(listed), found)


def chain(archive):
    """Each seal from the one before it."""
    found, before = [], None
    for seq, row in sorted(archive.seals.items()):
        if before is not None and (seq != before[0] + 1 or row["previous"] != before[1]):
            found.append(f"seal {seq} does not follow from seal {before[0]}")
        try:
            made = sealed(row)
        except ValueError:
            found.append(f"seal {seq} cannot be read")
        else:
            if made != row["hash"]:
                found.append(f"seal {seq} was not made over the events that it names")
        before = seq, row["hash"]
    archive.check("seals of the chain", len(archive.seals), found)


def sealed(row):
    """The hash of a seal over the leaves that it names."""
    leaves = b"".join(bytes.fromhex(leaf) for leaf in row["leaves"].split())
    return hashlib.sha256(b"\x01" + bytes.fromhex(row["previous"]) + hashlib.sha256(leaves).digest()).hexdigest()


def events(archive):
    """Each event at its place: its leaf is SHA-256 of byte 0 and its body."""
    found = []
    for event in archive.events:
        leaves = archive.seals.get(event["seal"], {"leaves": ""})["leaves"].split()
        leaf = hashlib.sha256(b"\x00" + event["body"].encode("utf-8")).hexdigest()
        if event["place"] >= len(leaves) or leaves[event["place"]] != leaf:
            found.append(f"event {event['event']} is not what seal {event['seal']} was made over")
    archive.check("events", len(archive.events), found)


def heads(archive):
    """The head printed in the report, and those noted outside the database since."""
    printed = archive.content["trail"]
    noted = [line.split("\t")[:2] for line in archive.text("trail/heads.txt").splitlines() if line.strip()]
    wanted = [(int(seq), head, "noted outside") for seq, head in noted]
    if printed["seq"] != "0":
        wanted.append((int(printed["seq"]), printed["head"], "printed in the report"))
    wanted = [one for one in wanted if one[0] >= min(archive.seals)]
    found = [
        f"the head {how} at entry {seq} is not that of the chain"
        for seq, head, how in wanted
        if seq not in archive.seals or archive.seals[seq]["hash"] != head
    ]
    if not any(how == "printed in the report" for _, _, how in wanted):
        found.append("the head printed in the report lies before this chain")
    archive.check("heads", len(wanted), found)


def signatures(archive):
    """Each signature against its event, and the one under the report against the report's content."""
    told = [json.loads(event["body"]) for event in archive.events]
    made = {body["after"]["signature"]: body for body in told if body["act"] == "signature.made"}
    rows, found = archive.table("records/signatures.csv"), []
    for row in rows:
        body = made.get(row["id"])
        if body is None:
            found.append(f"the signature of {row['signer_name']} ({row['meaning']}) has no event in the chain")
        elif (body["by"]["name"], body["after"]["meaning"], body["after"]["content_sha256"]) != (
            row["signer_name"],
            row["meaning"],
            row["content_sha256"],
        ):
            found.append(f"the signature of {row['signer_name']} is not the one that its event tells of")
    said = dict(archive.content)
    digest = said.pop("content_sha256")
    text = json.dumps(said, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    if hashlib.sha256(text.encode("utf-8")).hexdigest() != digest:
        found.append("the report's content is not the one of its hash")
    if not any(row["content_sha256"] == digest for row in rows):
        found.append("no signature is bound to the report's content")
    archive.check("signatures", len(rows), found)


def main(folder):
    """Check everything, say what was found, and give 0 only if nothing is wrong."""
    archive = Archive(folder)
    for step in (files, chain, events, heads, signatures):
        step(archive)
    print(f"Report {archive.content['number']}, issue {archive.content['issue']}: {archive.content['title']}")
    for line in [*archive.done, *(f"WRONG: {line}" for line in archive.wrong)]:
        print(line)
    last = max(archive.seals)
    print(f"The chain: entries {min(archive.seals)} to {last}, {archive.seals[last]['hash']}")
    print("Nothing is wrong." if not archive.wrong else f"{len(archive.wrong)} things are wrong.")
    return 1 if archive.wrong else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if len(sys.argv) > 1 else "."))
