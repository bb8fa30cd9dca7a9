"""Every address, and with what each page is shown: to walk over all of them, or to take a picture of each."""

from django.urls import URLPattern, reverse

# What each page is shown with: who it is for, and the values in its address. A value like "spare.lot" is looked up
# in the study that the walks made for themselves.
EXAMPLES = {
    "sign-in": (None, {}),
    "home": ("tilly", {}),
    "help": ("edmund", {}),
    "studies": ("edmund", {}),
    "new-study": ("edmund", {}),
    "compare": ("edmund", {}),
    "study": ("edmund", {"code": "S-2026-0002"}),
    "plan-study": ("edmund", {"code": "S-2026-0005"}),
    "amend-study": ("edmund", {"code": "S-2026-0002"}),
    "protocol": ("edmund", {"code": "S-2026-0005"}),
    "put-protocol": ("edmund", {"code": "S-2026-0009"}),
    "record-protocol-answer": ("edmund", {"code": "S-2026-0009"}),
    "components": ("edmund", {}),
    "own-protocols": ("clara", {}),
    "own-protocol": ("clara", {"code": "S-2026-0009", "version": 1}),
    "withdraw-study": ("edmund", {"code": "S-2026-0005"}),
    "sizes": ("edmund", {}),
    "precision": ("edmund", {"code": "S-2026-0006"}),
    "changes": ("edmund", {"code": "S-2026-0007"}),
    "window": ("edmund", {"code": "S-2026-0006"}),
    "validation": ("harriet", {"code": "S-2026-0008"}),
    "pull-order": ("edmund", {"code": "S-2026-0008"}),
    "limits": ("edmund", {}),
    "derived-limit": ("edmund", {"code": "L-2026-0001", "version": 1}),
    "receive-lot": ("bram", {"code": "S-2026-0004"}),
    "open-run": ("bram", {"code": "spare.code"}),
    "review-study": ("sorrel", {"code": "S-2026-0001"}),
    "release-study": ("constance", {"code": "S-2026-0001"}),
    "check-report": (None, {}),
    "links-to-report": ("edmund", {"code": "S-2026-0001"}),
    "links-to-own-report": ("otto", {"number": "R-2026-0001", "issue": "1"}),
    "amend-report": ("edmund", {"code": "S-2026-0001"}),
    "report-records": ("edmund", {"code": "S-2026-0001"}),
    "withdraw-report": ("constance", {"code": "S-2026-0001"}),
    "lot": ("bram", {"label": "spare.lot"}),
    "specimen": ("bram", {"label": "spare.held"}),
    "correct-result": ("bram", {"label": "spare.held"}),
    "attach-photo": ("bram", {"label": "spare.held"}),
    "void-specimen": ("bram", {"label": "spare.held"}),
    "replace-specimen": ("bram", {"label": "spare.held"}),
    "bench": ("bram", {}),
    "waiting-file": ("bram", {"waiting_id": "spare.waiting"}),
    "check-scanner": ("bram", {"label": "TS-000001-0"}),
    "print-lot-labels": ("bram", {"label": "spare.lot"}),
    "label-print": ("bram", {"print_id": "spare.labels"}),
    "print-equipment-labels": ("harriet", {}),
    "search": ("edmund", {}),
    "run": ("bram", {"run_id": "spare.run"}),
    "run-sheet": ("bram", {"run_id": "spare.run"}),
    "not-sent": ("bram", {}),
    "receive-traces": ("bram", {"run_id": "spare.run"}),
    "match-traces": ("bram", {"run_id": "spare.run", "file_id": "spare.file"}),
    "reviews": ("edmund", {}),
    "trail": ("harriet", {}),
    "decide-deviation": ("edmund", {"deviation_id": "spare.deviation"}),
    "equipment": ("harriet", {}),
    "register-equipment": ("harriet", {}),
    "equipment-item": ("harriet", {"label": "LC-000001-5"}),
    "calibrate": ("harriet", {"label": "LC-000001-5"}),
    "describe-equipment": ("harriet", {"label": "LC-000001-5"}),
    "cell-checks": ("harriet", {"label": "LC-000001-5"}),
    "cell-fit": ("harriet", {}),
    "calibration": ("harriet", {"calibration_id": "spare.calibration"}),
    "supersede-calibration": ("harriet", {"calibration_id": "spare.calibration"}),
    "look-back": ("harriet", {"calibration_id": "spare.calibration"}),
    "nonconforming": ("harriet", {}),
    "open-nonconformity": ("harriet", {}),
    "nonconformity": ("harriet", {"code": "spare.nonconformity"}),
    "due": ("harriet", {}),
    "matrix": ("harriet", {}),
    "people": ("harriet", {}),
    "new-person": ("harriet", {}),
    "person": ("harriet", {"username": "tilly"}),
    "person-roles": ("harriet", {"username": "tilly"}),
    "close-account": ("harriet", {"username": "tilly"}),
    "authorise": ("harriet", {"username": "tilly"}),
    "clients": ("harriet", {}),
    "new-client": ("harriet", {}),
    "new-project": ("harriet", {}),
    "methods": ("harriet", {}),
    "budgets": ("edmund", {}),
    "new-budget": ("edmund", {}),
    "budget": ("sorrel", {"code": "U-2026-0001"}),
    "issue-method": ("harriet", {}),
    "refusals": ("harriet", {}),
    "own-factors": ("otto", {}),
    "add-app": ("edmund", {}),
    "add-passkey": ("edmund", {}),
    "recovery-codes": ("edmund", {}),
    "own-badge": ("tilly", {}),
    "make-badge": ("tilly", {}),
    "badge-pin": ("tilly", {}),
    "end-badge": ("tilly", {}),
    "badge-labels": ("harriet", {}),
    "who": ("tilly", {}),
    "portal:reports": ("otto", {}),
    "portal:report": ("otto", {"number": "R-2026-0001", "issue": "1"}),
    "portal:specimen": ("otto", {"number": "R-2026-0001", "issue": "1", "label": "SP-000001-A"}),
    "api:reference": ("edmund", {}),
}
# Addresses without a page of their own: they take a POST and lead on, lead on at once, or answer with a file or data.
NO_PAGE = {
    *(
        "sign-out",
        "sign-in-again",
        "lock-study",
        "setting-evidence",
        "propose-limit",
        "finish-study",
        "condition-lot",
        "cut-lot",
        "lot-custody",
        "discard-remnants",
        "close-run",
        "run-label",
        "photograph-strip",
        "set-aside",
        "outbox-worker",
        *("photo", "photo-original", "set-photo-aside"),  # need one: tests/photos
        "conflict",  # needs two entries for one strip: test_outbox.py
    ),
    *("equipment-event", "keep-document", "equipment-document", "set-baseline", "give-feed", "revoke-feed", "calendar"),
    *(
        "find-discrepancy",
        "treat-lot",
        "answer-discrepancy",
        "give-token",
        "revoke-token",
        "withdraw-authorisation",
        "review-calibration",
    ),
    *("archive", "report-archives"),  # what was asked for on the page of records: test_archive.py
    *("lock-bench", "end-badge-of"),  # test_badge.py; needs a badge's key: tests/badges
    *("passkey-challenge", "sign-in-second", "end-factor", "end-factor-of"),  # need one: test_second_factor.py
    *("compare-for-client",),  # needs two groups in its address: among the states below
    "decide-validation",
    *("revoke-link", "revoke-own-link"),
    *("linked:report", "linked:specimen", "linked:every-file", "linked:file"),  # need a link: test_links.py
    *("linked:nothing", "linked:cut-off"),
    *("tray", "give-waiting-file", "set-file-aside", "label-print-pdf"),
    "correction",  # needs one that was asked for: test_correction.py
    *("api:window", "api:changes", "api:precision", "api:validation", "api:uncertainty", "api:comparison"),
    *("portal:newest", "portal:every-file", "portal:file"),
    *("api:schema", "api:results", "api:study", "api:specimens", "api:runs", "api:study-results", "api:summary"),
    *(
        "api:refusals",
        "api:equipment",
        "api:checks",
        "api:due",
        "api:calibrations",
        "api:look-back",
        "api:nonconforming",
        *("api:photographs", "api:study-photographs", "api:picture", "api:original"),
    ),
}
# The same pages in another state, and the answers that are no page: who, address, and the answer's status.
STATES = [
    ("edmund", "/studies/compare/?one=S-2026-0001/1&other=S-2026-0002/1", 200),  # techniques differ
    ("edmund", "/studies/compare/?one=S-2026-0002/1&other=S-2026-0002/2", 200),  # taken one way
    ("clara", "/reports/R-2026-0002/1/", 200),  # with photographs
    ("clara", "/reports/R-2026-0002/1/specimens/SP-000019-P/", 200),  # with one
    ("edmund", "/search/?q=pouch", 200),
    ("edmund", "/search/?q=nothing+at+all", 200),
    ("edmund", "/", 200),
    ("harriet", "/", 200),
    ("constance", "/", 200),
    ("edmund", "/studies/S-2026-0003/", 200),
    ("edmund", "/studies/S-2026-0004/", 200),
    ("edmund", "/studies/compare/?one=S-2026-0002%2F1&other=S-2026-0006%2F2", 200),
    ("edmund", "/studies/compare/for-the-client/?one=S-2026-0002%2F1&other=S-2026-0006%2F2", 200),
    ("edmund", "/studies/compare/for-the-client/?one=S-2026-0002%2F1&other=S-2026-0001%2F1", 409),
    ("edmund", "/studies/S-2026-0005/", 200),
    ("edmund", "/specimens/SP-000028-N/", 200),  # void
    ("harriet", "/equipment/LC-000004-0/", 200),  # past its calibration date
    ("edmund", "/studies/S-1999-0001/", 404),
    ("edmund", "/people/new/", 403),
    ("otto", "/reports/R-2026-0002/1/", 404),
]


def names(patterns, space=""):
    for pattern in patterns:
        if isinstance(pattern, URLPattern):
            if pattern.name:
                yield f"{space}{pattern.name}"
        else:
            yield from names(pattern.url_patterns, f"{pattern.namespace}:" if pattern.namespace else space)


def address(name, values, spare):
    told = {
        key: getattr(spare, value[6:]) if str(value).startswith("spare.") else value for key, value in values.items()
    }
    return reverse(name, urlconf="labrecords.urls", kwargs=told)


def visits(who, spare):
    yield from ((address(name, values, spare), 200) for name, (person, values) in EXAMPLES.items() if person == who)
    yield from ((path, status) for person, path, status in STATES if person == who)
