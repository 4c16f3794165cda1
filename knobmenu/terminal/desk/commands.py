"""The actions of keys that do not move the knob: time, panes, notes and files, and the app itself."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

from knobmenu.errors import EventError, RecordingError, TraceError
from knobmenu.picture.forms import KINDS
from knobmenu.terminal.clock import now_ms
from knobmenu.terminal.desk import reloading
from knobmenu.terminal.desk.desk import Desk
from knobmenu.terminal.desk.layout import PANES
from knobmenu.trace import parse_trace

EXACT = "This terminal reports releases: Space and Enter press for as long as you hold them."
CLICKS = (
    "This terminal reports no releases: Space and Enter click, l is a long press, h holds until the next h, and the"
    " mouse button on the middle of the knob holds for as long as you hold it."
)


# Time.


def next_branch(desk: Desk) -> None:
    """Go to the next branch."""
    if desk.session.history.branches == 1:
        desk.say("only one branch; a turn in the past begins one")
    else:
        desk.session.go_to_next_branch(now_ms())


def play_again(desk: Desk) -> None:
    """Play the same events with the present designs."""
    try:
        desk.session.play_again(now_ms())
    except EventError as error:
        desk.say(f"played as far as it goes: {error}", "caution")
    else:
        desk.say("the same events, played from power-on", "good")


# The knob's electronics.


def simulated_encoder(desk: Desk) -> None:
    """Switch to a simulated encoder, or back to the ideal one."""
    # Late: the bench takes a while to load, and most people turn an ideal encoder.
    from knobmenu.bench.simulated import make_first_try

    if desk.simulated is not None:
        desk.use_ideal_encoder()
        desk.say("ideal encoder: every detent counts")
    else:
        knob = desk.variants[0].design.knob
        named = desk.chain or make_first_try(knob)
        desk.use_simulated_encoder(named)
        has = named.chain.encoder.detents_per_turn
        if has == knob.detents_per_turn:
            desk.say(f"simulated encoder, {named.name}: turn it", "caution")
        else:
            desk.say(f"{named.name}: {has} detents a turn, the design has {knob.detents_per_turn}", "caution")


def bench(desk: Desk) -> None:
    """Go to the bench, where the knobs of the chain are turned."""
    from knobmenu.bench.simulated import make_first_try
    from knobmenu.files.kept import resolve_name
    from knobmenu.terminal.bench.screen import BenchResult, BenchScreen, keep_chain

    def return_from_bench(left: BenchResult | None) -> None:
        desk.bench = None
        if left is None:
            return
        desk.take_look(left.palette)
        if desk.simulated is not None:
            desk.use_simulated_encoder(left.named)
            desk.say(f"the simulated encoder is {left.named.name} now")
        elif left.changed:
            desk.say("k uses a simulated encoder with this chain")
        desk.chain = left.named

    named = desk.chain or make_first_try(desk.variants[0].design.knob)
    if desk.kept_chain is None:
        desk.kept_chain = keep_chain(named.chain, [resolve_name(variant.path) for variant in desk.variants])
    desk.bench = BenchScreen(named, desk.palette, desk.kept_chain)
    desk.app.push_screen(desk.bench, return_from_bench)


# Panes.


def variant(desk: Desk) -> None:
    """Show the tree of the other variant."""
    if len(desk.variants) == 1:
        desk.say("only one variant: knobmenu try A.toml B.toml")
    else:
        desk.tree_variant = 1 - desk.tree_variant
        desk.say(f"the tree of {'AB'[desk.tree_variant]}")


# Words and files.


def _ask(desk: Desk, question: str, take: Callable[[str], str], answer: str = "", advice: str = "") -> None:
    # Late, so that the first frame need not wait for what only a question needs.
    from knobmenu.terminal.prompts.prompt import Prompt

    desk.app.push_screen(Prompt(question, take, answer, advice))


def note(desk: Desk) -> None:
    """Write a note, about the moment at which it is begun: while it is written, device time goes on."""
    about = desk.session.history.number

    def take(text: str) -> str:
        desk.session.timeline.note(text.strip(), now_ms(), about)
        desk.say("noted", "good")
        return ""

    _ask(desk, "A note on this event", take, advice="Going back does not take it away.")


def words(desk: Desk) -> None:
    """Write words of a trace and play them from here."""

    def take(text: str) -> str:
        try:
            events = parse_trace(text)
        except TraceError as error:
            return str(error)
        try:
            desk.session.tell(events, now_ms())
        except EventError as error:
            # Those before it have happened, so the words are not for another try.
            desk.say(str(error), "wrong")
        desk.changed()
        return ""

    _ask(
        desk,
        "Events of a trace, played from here",
        take,
        advice="3, -2, press, hold, double, held 3, wait 500, report KEY VALUE.",
    )


# What works with files is loaded by the command that needs it: the first frame need not wait for that.


def save_trace(desk: Desk) -> None:
    """Save what was done as a trace."""
    from knobmenu.session import writing

    _save(desk, "trace", ".trace", lambda _: writing.compose_trace(desk.session.timeline, desk.tree_variant))


def save_test(desk: Desk) -> None:
    """Save what was done as a test."""
    from knobmenu.session import writing

    path = desk.variants[desk.tree_variant].path
    if path is None:
        desk.say("a test needs a file: knobmenu new writes one", "caution")
        return
    timeline = desk.session.timeline
    _save(desk, "test", ".py", lambda test: writing.compose_test(timeline, path, test, desk.tree_variant), "test_")


def _save(desk: Desk, what: str, ending: str, content: Callable[[Path], str], prefix: str = "") -> None:
    """Save all events and notes."""
    from knobmenu.files import prompted
    from knobmenu.terminal.prompts.prompt import ask_where_to_save

    def keep(name: str) -> str:
        refusal = prompted.keep(name, content)
        recorder = desk.session.timeline.recorder
        if not refusal and recorder is not None:
            recorder.save(name.strip(), now_ms())
        return refusal

    ask_where_to_save(desk, what, f"{prefix}{_make_stem(desk)}", ending, keep)


def picture(desk: Desk) -> None:
    """Save a picture of the app."""
    from knobmenu.files.prompted import keep_picture
    from knobmenu.terminal.prompts.prompt import ask_where_to_save

    drawn = desk.picture()
    ask_where_to_save(desk, "picture", _make_stem(desk), ".svg", lambda name: keep_picture(name, drawn))


def _make_stem(desk: Desk) -> str:
    path = desk.variants[desk.tree_variant].path
    return "demo" if path is None else path.stem


def resume(desk: Desk) -> None:
    """Continue an earlier session that is not saved; the present one stays kept."""
    from knobmenu.files.kept import resolve_name
    from knobmenu.files.sessions import find_unfinished

    if desk.session.timeline.recorder is None or desk.recording.kept is None:
        desk.say("quit first to resume another session", "caution")
        return
    found = find_unfinished([resolve_name(variant.path) for variant in desk.variants])
    if not found:
        desk.say("every other session of this design is saved")
        return
    designs = [variant.design for variant in desk.variants]
    try:
        session, dropped = desk.recording.continue_with(found[0].path, designs, now_ms())
    except RecordingError as error:
        desk.say(f"cannot be resumed: {error}", "wrong")
        return
    desk.take_session(session)
    if dropped:
        desk.say(f"the session of {found[0].format_start()}, but {dropped[0]}", "caution")
    else:
        desk.say(f"the session of {found[0].format_start()} continues", "good")
    desk.lay_out()


def open_trace(desk: Desk) -> None:
    """Play a trace from a file."""
    from knobmenu.files import prompted

    def take(name: str) -> str:
        events, refusal = prompted.read_trace(name)
        if refusal:
            return refusal
        short = prompted.shorten_name(name)
        try:
            desk.session.play(events, f"played {short}", now_ms())
        except EventError as error:
            desk.say(f"{short}: {error}", "wrong")
        else:
            desk.say(f"{short}, played from power-on", "good")
        desk.changed()
        return ""

    _ask(desk, "Play the trace in", take, advice="It begins at power-on, as a line of its own.")


def reload(desk: Desk) -> None:
    """Read the designs' files again now."""
    if all(variant.path is None for variant in desk.variants):
        desk.say("the demo has no file: knobmenu new writes one")
    else:
        desk.say("read again")  # What became of it takes the place of this, where the file is another or broken.
    for one in desk.variants:
        desk.run_worker(reloading.reload(desk, one), group="reload", exit_on_error=False)


# The app.


def form(desk: Desk) -> None:
    """Draw the display larger or smaller."""
    before = desk.box("device-0") if desk.shown("device-0") else None
    for _ in KINDS:
        desk.draw_no_larger_than(KINDS[(KINDS.index(desk.least) + 1) % len(KINDS)])
        # A form that does not fit changes nothing, so the next one is tried.
        if before is None or desk.box("device-0") != before:
            return


def blinking(desk: Desk) -> None:
    """Stop all blinking, or let it blink again."""
    desk.blinking = not desk.blinking
    desk.say("blinks as the device does" if desk.blinking else "nothing blinks; what would is marked")


def show_help(desk: Desk) -> None:
    """Show the keys."""
    from knobmenu.terminal.prompts.help import Help, make_help

    desk.app.push_screen(Help(make_help(EXACT if desk.releases else CLICKS)))


def leave(desk: Desk) -> None:
    """Quit; a session that is neither kept nor saved is left only after a warning."""
    if lost := desk.recording.refuse_leaving():
        desk.say(lost, "caution")
    else:
        desk.app.exit()


COMMANDS: dict[str, Callable[[Desk], object]] = {
    "simulated_encoder": simulated_encoder,
    "bench": bench,
    "back": lambda desk: desk.session.go_back(now_ms()),
    "on": lambda desk: desk.session.go_forward(now_ms()),
    "power_on": lambda desk: desk.session.go(0, now_ms()),
    "newest": lambda desk: desk.session.go(desk.session.history.last, now_ms()),
    "next_branch": next_branch,
    "freeze": lambda desk: desk.session.freeze(now_ms()),
    "play_again": play_again,
    "variant": variant,
    "note": note,
    "words": words,
    "save_trace": save_trace,
    "save_test": save_test,
    "open_trace": open_trace,
    "resume": resume,
    "picture": picture,
    "reload": reload,
    "look": Desk.next_look,
    "form": form,
    "blinking": blinking,
    "commands": lambda desk: desk.app.action_command_palette(),
    "present": Desk.present,
    "help": show_help,
    "suspend": lambda desk: desk.app.action_suspend_process(),
    "leave": leave,
    **{f"pane_{name}": partial(Desk.toggle_pane, name=name) for name in PANES},
}
"""The actions that `knobmenu.terminal.input.keymap.Key.does` names, except those that move the knob."""
