"""Protocols of a study: every version, how the newest stands, and those a client may read."""

from labrecords.models import Protocol, Study, User
from labrecords.rules.canonical import sha256
from labrecords.rules.protocol import Standing

from .access import NotFound, may


def versions(study: Study) -> list[Protocol]:
    """Every version with its answer, newest first."""
    return list(study.protocols.select_related("answer", "signature", "by").order_by("-version"))


def newest(study: Study) -> Protocol | None:
    """The newest version, if there is one."""
    return study.protocols.select_related("answer", "signature").order_by("-version").first()


def standing(protocol: Protocol | None, text: str) -> Standing:
    """How the newest version stands beside the plan, whose text is given."""
    if protocol is None:
        return Standing()
    answer = getattr(protocol, "answer", None)
    same = protocol.content_sha256 == sha256(text)
    return Standing(version=protocol.version, same=same, agreed=answer.agreed if answer else None)


def own(person: User):
    """Versions that were put to the person's company; none for anybody else. Read in the portal's role."""
    if not may(person, "agree to a protocol") or person.client_id is None:
        return Protocol.objects.none()
    found = Protocol.objects.filter(study__project__client_id=person.client_id, signature__isnull=False)
    return found.select_related("study__project__client", "signature", "answer").order_by("-at", "-pk")


def own_one(person: User, code: str, version: int) -> Protocol:
    """One version that was put to the person's company. Raises NotFound."""
    found = own(person).filter(study__code=code, version=version).first()
    if found is None:
        raise NotFound(code)
    return found


def before(protocol: Protocol) -> Protocol | None:
    """The version before a version, if there is one."""
    return Protocol.objects.filter(study=protocol.study_id, version__lt=protocol.version).order_by("-version").first()
