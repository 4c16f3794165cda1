"""The machine: what a device does with each turn, press and passing second.

Theory of operation
===================

There is one function, `knobmenu.machine.advance.advance`. It takes a design, a state and an event, and returns the
state afterwards and the effects: what the device is to do, in order. It reads no clock, no file and no global, so the
same design, state and event always give the same answer, here and in firmware.

A **state** is where the user is (a path of open menus, each with its selected entry), what lies over that (a draft,
a question, a request to hold, or nothing), and the values. Everything else is worked out from it: the mode, which
entries are shown, which lamps are lit, the screen.

========  ==========================================================  =======================
mode      what is shown                                               the state says so by
========  ==========================================================  =======================
HOME      the home screen                                             an empty path, no focus
BROWSING  the list of the innermost open menu                         a path, no focus
EDITING   a setting and its draft                                     focus is `Editing`
ASKING    a question, with yes and no                                 focus is `Asking`
HOLDING   a request to hold the knob                                  focus is `Holding`
========  ==========================================================  =======================

An **event** is handled in this order:

1. It is refused, with nothing changed, when it is older than the state.
2. What fell due before it happens, earliest first: saving when nothing changed for a while, idling when nobody touched
   the knob for a while. Each happens at its own moment, so it makes no difference how often time is sent. Where both
   fall due at one moment, saving comes first.
3. The event's row is looked up in `transitions.TRANSITIONS` under (mode, event). The row gives the case, the case
   gives the arc, the arc names the action that runs and the modes in which that may end. Two events are outside of the
   table, since they mean the same in every mode: `Wait` is time alone, `Report` sets a readout.
4. If a condition took the selected entry away, the selection goes to the nearest entry that is shown: the next, else
   the one before, else none, and then the list shows that it is empty.
5. The consequences become effects: another screen, at most one sound, at most one flash of each lamp.

**Values** are whole numbers. Where the limit of one setting is another setting, giving the one a value pushes the
other along (`changing.assign`). An editor stops at a limit that the edited setting itself declares.

**Live** settings take effect with each detent, and reverting puts back every value that stood when the edit began,
pushed ones too. The others take effect on commit.

What is open stays open: a condition that hides the menu one is in, or the setting one is editing, does not throw one
out; it shows in the list above, on the way back. A confirmation, though, is refused when what it confirms is not
enabled any more.
"""
