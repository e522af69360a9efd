"""What the interpreter notices while it carries out the program, and Read passes on: one row a check.

Each row is a check like those that have a module of their own: its page stands under the same headings.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Final

from setwright.model.check import HEADINGS, Meta
from setwright.model.finding import Finding, Signal
from setwright.read.case import ReadCase, said

__all__ = ["CHECKS", "Noticed"]

_AS_A_CONTROL: Final = ("The interpreter notices it while it carries out the block, exactly as a control of this profile would; "
                        "no estimate is involved.")  # fmt: skip
_SOURCE: Final = "The descriptions of the word-address language (ISO 6983-1) and the behaviours of the control profile."
_WIDTH: Final = 120


class Noticed:
    """A check that passes on remarks of the interpreter, by their names; `wrong`: the sentence its page begins with, the others
    stand under the headings of every check."""

    def __init__(self, slug: str, signal: Signal, *remarks: str, wrong: str, silence: str, matters: str, do: str,
                 blind: str = "None known.", decides: str = _AS_A_CONTROL) -> None:  # fmt: skip
        self.META = Meta(slug, signal)
        self.remarks = remarks
        texts = zip(HEADINGS, (silence, matters, decides, blind, do, _SOURCE), strict=True)
        self.__doc__ = "\n\n".join([wrong, *(f"{heading}\n{_indented(text)}" for heading, text in texts)])

    def run(self, case: ReadCase) -> Iterator[Finding]:
        """What was noticed, place by place."""
        return said(case, self.META.slug, *self.remarks)


def _indented(text: str) -> str:
    return textwrap.fill(text, _WIDTH, initial_indent="    ", subsequent_indent="    ")


CHECKS: Final = (
    Noticed(
        "motion-after-cycle-without-g0-or-g1", Signal.CAUTION, "motion after G80 without G0 or G1",
        wrong="Axis words after G80 come without G0 or G1.",
        silence="Every motion after a cycle says whether it is rapid or feed.",
        matters="Controls differ in what is in force then.",
        do="Write G0 or G1 behind G80.",
    ),
    Noticed(
        "program-alarm", Signal.WARNING, "program alarm",
        wrong="The program raises its own alarm.",
        silence="No #3000 alarm of the program is reached.",
        matters="The programmer wrote the alarm for a case that must not be cut.",
        blind="Alarms in branches that these values do not reach.",
        do="Read its text and correct the value it speaks of.",
    ),
    Noticed(
        "main-program-begins-again", Signal.NOTICE, "main program begins again",
        wrong="The program returns to its own beginning.",
        silence="The program ends where it says M30.",
        matters="With M99 the next cycle starts at once, on the part that is already there.",
        do="Use M30 unless a bar feeder or pallet changer is meant.",
    ),
    Noticed(
        "block-delete-taken-as-off", Signal.NOTICE, "block delete taken as off",
        wrong="The program has blocks that a switch at the control leaves out.",
        silence="No block depends on the block-delete switch.",
        matters="With the switch the other way round, other metal is cut.",
        do="Check the switch before the start; the proof holds for the switch off.",
    ),
    Noticed(
        "tool-change-without-a-tool", Signal.WARNING, "tool change without a tool",
        wrong="A tool change names no tool.",
        silence="Every tool change says which tool.",
        matters="The machine changes to whatever was preselected last.",
        do="Write T and M6 in one block.",
    ),
    Noticed(
        "compensation-entry-too-short", Signal.WARNING, "lead-in shorter than the radius",
        wrong="The move that switches cutter compensation on is shorter than the radius.",
        silence="Every entry into cutter compensation is at least one tool radius long.",
        matters="Controls raise an alarm, or cut into the contour at its start.",
        blind="A radius register larger than the one stated.",
        do="Start the contour farther away, or use a smaller tool.",
    ),
    Noticed(
        "compensation-interrupted", Signal.CAUTION, "compensation interrupted",
        wrong="Something interrupts a contour while cutter compensation is on.",
        silence="Between G41 or G42 and G40 nothing makes the control lose sight of the contour.",
        matters="Controls differ: some drop the compensation, some cut into the part.",
        blind="How many blocks without motion a control looks across is its own.",
        do="Write G40 before it, and G41 or G42 again after it.",
    ),
    Noticed(
        "radius-larger-than-corner", Signal.DANGER, "radius too large for an arc", "radius too large for a corner",
        wrong="The compensated tool does not fit an inner arc or corner.",
        silence=("The compensated path of every contour touches the contour everywhere without cutting into it, for the stated "
                 "radius."),
        matters="The tool cuts into the part, or the control stops with an alarm in the cut.",
        decides=("The contour and its offset are constructed exactly; an inside arc smaller than the radius, or an offset that "
                 "folds back, is reported."),
        blind="Contours drawn without compensation are not looked at here; the simulated part shows them.",
        do="Use a smaller tool, check the D register, or mend the contour.",
    ),
    Noticed(
        "compensation-reversed", Signal.WARNING, "compensation turned back",
        wrong="A contour with cutter compensation on runs straight back.",
        silence="No compensated contour turns by 180 degrees.",
        matters=("Left of the path is on the other side on the way back: the tool crosses over at the end and cuts a tool's "
                 "width beside its way there, often into the part."),
        decides="The directions in which one element of the contour ends and the next one begins; exact.",
        blind="A way back by a third element between the two.",
        do="Take compensation off before the way back, or draw the contour on to where it leaves the part.",
    ),
    Noticed(
        "control-switch-set-by-program", Signal.NOTICE, "control switch set by program",
        wrong="The program sets a switch of the control by a system variable.",
        silence="The program leaves the control's switches alone.",
        matters="Single block or feed hold may be switched off while it runs.",
        do="Know that feed hold may not answer in these blocks.",
    ),
    Noticed(
        "cycle-depth-above-its-near-level", Signal.WARNING, "cycle depth above its near level",
        wrong="A drilling cycle's depth lies above its near level.",
        silence="Every cycle goes down.",
        matters="The drill feeds upward and drills nothing, or the sign of Z is wrong.",
        do="Compare Z and R of the cycle.",
    ),
    Noticed(
        "program-does-not-end", Signal.DANGER, "program does not end",
        wrong="The program has not ended after a very large number of blocks.",
        silence="The program comes to its end.",
        matters="A loop whose condition never changes cuts air, or the same place, for ever.",
        do="Look for a loop whose condition never changes, or a call that calls itself.",
    ),
    Noticed(
        "variable-kept-in-the-control", Signal.CAUTION, "variable kept in the control",
        wrong="The program reads a variable that an earlier program left in the control.",
        silence="Every variable is set by the program before it is read.",
        matters="The part depends on what ran before.",
        do="Set the variable at the head of the program.",
    ),
    Noticed(
        "no-end-of-program", Signal.NOTICE, "no end of program",
        wrong="The text ends without M30 or M2.",
        silence="The program has an end of its own.",
        matters="Half a file that was cut off in transfer looks like this too.",
        blind="A file cut off exactly behind its M30.",
        do="Compare the last line with the file it came from; write M30.",
    ),
    Noticed(
        "numbered-offset", Signal.NOTICE, "numbered offset",
        wrong="A numbered work offset goes by another name here.",
        silence="Every work offset is called here as the program calls it.",
        matters="An offset typed on the wrong page of the control sends every tool to another place.",
        blind="That the control keeps this offset under the number the program gives is believed.",
        do="Type the offset on the page where the control keeps it under the name the program uses.",
    ),
    Noticed(
        "program-writes-offset", Signal.CAUTION, "program writes a work offset",
        wrong="The program writes a work offset or a tool register itself.",
        silence="Offsets stand as the setter entered them.",
        matters="What was touched off is overwritten when the program runs.",
        do="Know that it does, and touch off into the register it does not overwrite.",
    ),
    Noticed(
        "radius-register-of-another-tool", Signal.NOTICE, "radius register of another tool",
        wrong="A tool compensates with the radius register of another tool.",
        silence="Every compensated contour takes the radius register that has its tool's number.",
        matters="The contour comes out wrong by the difference of the radii.",
        blind="Two registers for one tool (roughing and finishing) are ordinary and are reported as well.",
        do="Compare D with T in this line.",
    ),
    Noticed(
        "reference-return-by-a-lower-point", Signal.WARNING, "reference return by a lower point",
        wrong="A return to the reference point first goes down.",
        silence="No G28 or G30 leads over an intermediate point lower than where the tool stands.",
        matters="`G90 G28 Z0` is meant as a retract and first runs to work Z0 at rapid: into the part.",
        blind="An intermediate point sideways of something is not looked at here; contact is proved elsewhere.",
        do="Write G91 G28 Z0, or give an intermediate point above the part.",
    ),
    Noticed(
        "rotation-left-in-force", Signal.CAUTION, "rotation left in force",
        wrong="The program ends with a rotation in force.",
        silence="No rotation is in force when the program ends.",
        matters="The next program runs turned.",
        blind="Controls that clear it by themselves at the end.",
        do="Write G69 before the end.",
    ),
    Noticed(
        "corners-may-be-rounded", Signal.NOTICE, "corners may be rounded",
        wrong="The control is allowed to round corners.",
        silence="No code lets the control leave the path as it is written.",
        matters="Corners come out rounded, and small features are cut short, by up to the tolerance the control is set to.",
        blind="How far it may stray stands in the control, not in the program: it is not in the proof.",
        do=("Compare the control's setting with the tightest tolerance; turn it off for the finishing cuts, or measure a sharp "
            "corner."),
    ),
    Noticed(
        "work-shift-left-in-force", Signal.WARNING, "G92 shift left in force", "G52 shift left in force",
        wrong="The program ends with a G92 or G52 shift in force.",
        silence="No shift is in force when the program ends.",
        matters="The next program, or the second piece, starts shifted.",
        blind="Shifts cleared by hand at the control.",
        do="Cancel the shift before the end: G92.1, or G52 X0 Y0 Z0.",
    ),
    Noticed(
        "work-shifted-by-g92", Signal.CAUTION, "work shifted by G92",
        wrong="The program sets the zero by G92, from wherever the tool stands.",
        silence="No zero depends on where the tool happens to stand.",
        matters="Started from another place, everything is cut in another place.",
        do="Set a work offset instead, or state where the tool stands when G92 is read.",
    ),
    Noticed(
        "word-without-effect", Signal.NOTICE, "word without effect",
        wrong="A word does nothing in its block.",
        silence="Every word of every block has an effect.",
        matters="It is often a slip of the keys: another letter was meant.",
        blind="Words that have an effect, but not the one that was meant.",
        do="Read the block again.",
    ),
)  # fmt: skip
"""In the order of what they are about."""
