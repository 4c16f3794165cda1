"""Values that limits keep out of reach, with the farthest one that can be set."""

from __future__ import annotations

import pytest

from knobmenu.analysis.check import check_design
from tests.analysis.check.test_findings import edited


@pytest.mark.parametrize(("high", "step"), [(20, 1), (1000, 1), (1000, 5)])
def test_a_limit_that_nothing_moves_keeps_higher_values_out_of_reach(high: int, step: int) -> None:
    most = f'[settings.most]\nkind = "number"\nlabel = "Most"\nlow = 0\nhigh = {high}\nstep = {step}\ninitial = 10\n\n'
    design = edited((("high = 20", 'high = "most"'), ("[settings.mode]", f"{most}[settings.mode]")))

    found = {finding.rule: finding for finding in check_design(design).findings}

    assert set(found) - {"many-detents"} == {"no-way", "unsettable"}
    assert found["unsettable"].message == f'Values of "level" above 10 can never be set, although it goes to {high}.'
