from __future__ import annotations

import pytest

from reviewer.variants.judging import Judges


@pytest.fixture(scope="session")
def judges() -> Judges:
    return Judges()
