"""Every state that a search reaches is reached by playing the way that it found."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from knobmenu.analysis.abstraction import Abstraction
from knobmenu.analysis.cones import Cone
from knobmenu.analysis.projection import project
from knobmenu.analysis.reachability import build_model, search
from knobmenu.analysis.sites import Sites
from knobmenu.analysis.walks import walk_to
from knobmenu.design.whole import Design
from knobmenu.device.device import Device
from knobmenu.trace import parse_trace
from tests.analysis.strategies import small_designs
from tests.sampling import sampled


@settings(max_examples=sampled(1000, 60))
@given(small_designs(), st.data())
def test_a_trace_to_an_abstract_state_leads_there_when_it_is_played(design: Design, data: st.DataObject) -> None:
    abstraction, sites = Abstraction(design), Sites(design)
    keys = frozenset(setting.key for setting in design.settings)
    reached = search(build_model(abstraction, sites, Cone(keys, frozenset(sites.all))))
    layer = data.draw(st.integers(0, len(reached.layers) - 2))
    site, bits = data.draw(st.sampled_from(list(reached.layers[layer].items())))
    numbers = [at for at in range(bits.bit_length()) if bits >> at & 1]
    number = data.draw(st.sampled_from(numbers))
    trace = walk_to(reached, layer, site, number).write_trace()
    device = Device(design)
    device.tell_all(parse_trace(trace))

    states = reached.model.space.split_number(number)
    classes = {
        key: variable.find_class(key, state)
        for variable, state in zip(reached.model.space.variables, states, strict=True)
        for key in variable.keys
    }
    assert project(abstraction, keys, device.state) == (site, device.state.mode, "", tuple(sorted(classes.items())))
