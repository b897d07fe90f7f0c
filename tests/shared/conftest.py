import pytest

from tests.factories import CartFactory, PersonFactory
from tests.yard import Yard


@pytest.fixture
def yard(db):
    return Yard(CartFactory(), PersonFactory())
