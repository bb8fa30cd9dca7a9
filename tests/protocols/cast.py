"""A draft to which the client agrees before it is locked."""

from labrecords.actions import protocols, studies
from labrecords.models import Protocol, Study
from tests import world as cast
from tests.world import World

ASKED = cast.STUDY | {"agreement": "client", "no_agreement_reason": ""}


def draft(world: World, **changed) -> Study:
    """A plan that asks for the client's agreement."""
    return studies.plan(
        project=world.project,
        by=world.edda,
        at=world.at,
        study=ASKED | changed,
        setup=cast.SETUP | {"method_version": world.method},
        groups=cast.GROUPS,
        limits=cast.LIMITS,
    )


def put(world: World, study: Study, **changed) -> Protocol:
    """The plan as it stands, put to the client."""
    given = {"words": "As agreed by telephone.", "password": cast.PASSWORD, "by": world.edda, "at": world.at}
    return protocols.put(study=study, **given | changed)


def answer(world: World, protocol: Protocol, **changed):
    """The client's own answer: agreed."""
    given = {"agreed": True, "words": "", "password": cast.PASSWORD, "by": world.clara, "at": world.at}
    return protocols.answer(protocol=protocol, **given | changed)


def replan(world: World, study: Study, **changed) -> Study:
    """The draft written anew with another rate."""
    return studies.replan(
        study=study,
        by=world.edda,
        at=world.at,
        fields={},
        setup=cast.SETUP | {"method_version": world.method} | changed,
        groups=cast.GROUPS,
        limits=cast.LIMITS,
    )
