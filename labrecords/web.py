def page_context(request):
    return {}


def LabMiddleware(get_response):
    return get_response
