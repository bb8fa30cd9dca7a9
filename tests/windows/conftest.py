"""The small laboratory; for whoever asks for it, with a window study of which the results are accepted."""

import pytest

from tests.windows import cast


@pytest.fixture
def both(built):
    with built.standing(cast.accepted) as both:
        yield both


@pytest.fixture
def window(both):
    return both[1]


@pytest.fixture
def world(request):
    with_window = "window" in request.fixturenames
    return request.getfixturevalue("both")[0] if with_window else request.getfixturevalue("laboratory")
