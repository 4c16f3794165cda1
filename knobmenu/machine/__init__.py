"""The machine: what a device does with each turn, press and passing second.

Theory of operation
===================

There is one function, `knobmenu.machine.advance.advance`. It takes a design, a state and an event, and returns the
state afterwards and the effects: what the device is to do, in order. It reads no clock, no file and no global, so the
same design, state and event always give the same answer, here and in firmware.

A **state** is where the user is (a path of open menus, each with its selected entry), what lies over that (a draft,
a question, a request to hold, or nothing), and the values. Everything else is computed from it: the mode, which
entries are shown, which lamps are lit, the screen.

========  ==========================================================  =======================
mode      what is shown                                               how the state shows it
========  ==========================================================  =======================
HOME      the home screen                                             an empty path, no focus
BROWSING  the list of the innermost open menu                         a path, no focus
EDITING   a setting and its draft                                     focus is `Editing`
ASKING    a question, with yes and no                                 focus is `Asking`
HOLDING   a request to hold the knob                                  focus is `Holding`
========  ==========================================================  =======================

An **event** is handled in this order:

1. It is refused, with nothing changed, when it is older than the state.
2. What has fallen due happens first, in order of time: saving, some time after the last change, and idling, some time
   after the knob was last touched. Each happens at its own time, so the result does not depend on how often the caller
   sends time. If both fall due at the same time, saving comes first.
3. The event's row is looked up in `transitions.TRANSITIONS` under (mode, event). The row determines the case, and
   the case selects the arc: the action that runs, and the modes in which it can end. Two events are not in the table
   because they mean the same in every mode: `Wait` only passes time, and `Report` sets a readout.
4. If a condition has hidden the selected entry, the selection moves to the nearest shown entry: the next, else the one
   before, else none, and then the list shows that it is empty.
5. The consequences become effects: another screen, at most one sound, at most one flash of each lamp.

**Values** are whole numbers, except for texts. If the limit of one setting is another setting, assigning the one pushes
the other along (`changing.assign`). An editor stops at a limit that the edited setting itself declares.

**Live** settings take effect with each detent, and reverting puts back every value that stood when the edit began,
pushed ones too. The others take effect on commit.

What is open stays open: a condition that hides the open menu, or the setting that is being edited, does not close it;
the change appears in the list above, on the way back. A confirmation is refused, however, if its target has been
disabled.
"""
