"""What every view of the programming interface shares: who may call, and how much may be sent."""

from django.conf import settings
from rest_framework.request import Request
from rest_framework.views import APIView

from labrecords.queries import access

from .problems import Problem


class ProgramView(APIView):
    """For people and devices who may read by program, by token; the sign-in of pages plays no part."""

    needs = "read by program"

    def initial(self, request: Request, *args, **kwargs) -> None:
        """Ask who calls and how much was sent before anything is read."""
        super().initial(request, *args, **kwargs)
        access.demand(request.user, self.needs)
        _refuse_oversize(request)


def _refuse_oversize(request: Request) -> None:
    limit = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    if int(request.META.get("CONTENT_LENGTH") or 0) > limit:
        raise Problem(413, "too-large", f"Send at most {limit // 2**20} MB at a time.")


class Unknown(ProgramView):
    """Any other address: the same answer as for a record that is not there."""

    schema = None

    def initial(self, request: Request, *args, **kwargs) -> None:
        """Nothing is here, whatever the method."""
        super().initial(request, *args, **kwargs)
        raise access.NotFound
