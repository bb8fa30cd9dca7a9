"""Window studies: what was seen of a setting's seals besides their force."""

from datetime import datetime

from labrecords.models import SealingSetting, SettingEvidence, User
from labrecords.queries import access
from labrecords.rules.answers import Answer

from . import trail
from .refusals import one_act


def keep_evidence(
    *, setting: SealingSetting, kind: str, passed: bool, words: str, by: User, at: datetime
) -> SettingEvidence:
    """What was seen of a setting by eye, of integrity or on opening. A later finding of a kind stands for it."""
    access.demand(by, "keep a window")
    study = setting.window.study
    with one_act("keep evidence of a setting", by=by, at=at, study=study, tried=f"{kind} of {setting}") as stop:
        if not words.strip():
            stop([Answer("words-missing", "What was done and seen was not written down.")])
        kept = SettingEvidence.objects.create(setting=setting, kind=kind, passed=passed, words=words, by=by, at=at)
        after = {"id": kept.pk, "setting": setting.label, "kind": kind, "passed": passed}
        trail.write("setting.seen", subject=f"study {study.code}", by=by, at=at, study=study, after=after, why=words)
    return kept
