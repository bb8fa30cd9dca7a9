"""Methods and their versions."""

from datetime import datetime

from django.db import transaction

from labrecords.models import Method, MethodVersion, User
from labrecords.queries import access

from . import trail


@transaction.atomic(durable=True)
def issue_version(*, code: str, title: str, by: User, at: datetime, **fields) -> MethodVersion:
    """Issue the next version of a method, making the method with its first version."""
    access.demand(by, "issue a method")
    method, _ = Method.objects.get_or_create(code=code, defaults={"title": title})
    latest = method.versions.order_by("-number").first()
    version = MethodVersion(method=method, number=latest.number + 1 if latest else 1, issued_by=by, at=at, **fields)
    version.full_clean(exclude=["method", "issued_by"])
    version.save()
    after = {"id": version.pk, "number": version.number} | {
        name: value if isinstance(value, dict | list) else str(value) for name, value in fields.items()
    }
    trail.write("method.issued", subject=f"method {code}", by=by, at=at, after=after)
    return version
