"""Badges: whose, and how many tries at their PIN have failed."""

from django.db.models import QuerySet

from labrecords.models import Badge, SignIn, User

from .access import NotFound


def open_badges() -> QuerySet[Badge]:
    """Badges that have not ended, by person."""
    return Badge.objects.filter(ended_at__isnull=True).select_related("person").order_by("person__name", "label")


def of(person: User) -> Badge | None:
    """The badge that a person has now."""
    return open_badges().filter(person=person).first()


def every(person: User) -> list[Badge]:
    """All of a person's badges, those that ended too, with who ended them."""
    return list(Badge.objects.filter(person=person).select_related("ended_by"))


def one(badge_id) -> Badge:
    """A badge that somebody has now, for whoever keeps people."""
    found = open_badges().filter(pk=badge_id).first()
    if found is None:
        raise NotFound(str(badge_id))
    return found


def failures(badge: Badge) -> int:
    """Tries at a badge's PIN that failed since it was set and its person last signed in with the password."""
    tries = SignIn.objects.filter(username=badge.person.username, at__gt=badge.pin_set_at)
    good = tries.filter(way=SignIn.BY_PASSWORD, succeeded=True).order_by("-at", "-pk").values_list("at", flat=True)
    failed = tries.filter(way=SignIn.BY_BADGE, succeeded=False)
    last = good.first()
    return (failed.filter(at__gt=last) if last else failed).count()
