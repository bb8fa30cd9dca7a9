"""Fails a page that asks the database once per row. Only reading pages: entries go through the gate one by one."""

from zeal import zeal_context


def once_per_row(get_response):
    def guarded(request):
        if request.method != "GET":
            return get_response(request)
        with zeal_context():
            return get_response(request)

    return guarded
