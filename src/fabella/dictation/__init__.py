"""How surgeons talk, turned into findings: proposed for confirmation, never recorded here.

A text goes through these stages, each in its module, in this order (``understand`` calls them):

1.  Words (``words``, ``tokens``): the text as words, numbers and marks with their places; slips of the ear
    put right.
2.  Items (``tagging``): groups of words with the part they play. The longest name in the ``lexicon`` wins,
    and numbers are read in their company (``numbers`` the plain number, then ``times``, ``ages``, ``sizes``,
    ``grades`` and ``quantities``, each building on the one before); ``marks`` and ``short`` read marks and
    little words. What is left is unknown, and stays so to the end (``strangers``), but for what people are
    called (``names``). ``ordered`` gives two results their knees where an order was said, ``announced`` makes
    a heading of what is tested for, ``similes`` doubts "he's fine", ``beforehand`` parts what troubled before
    an injury from what does now. ``conversation`` puts aside what is said
    to the patient (``addressed``) and questions answered at once (``asked``), ``supposed`` opens what is
    only taught, supposed or told by others, ``plans`` puts aside what is to be done, ``vitals`` reads vital
    signs with their numbers, ``old`` asks where what is old may not be all, ``elided`` restores a noun said
    once for two, ``elsewhere`` puts aside what no hands found today, ``affirmed`` ends the reach of a "no",
    ``looked`` finds what was only looked at, ``contrasts`` where a knee is the subject, ``bad_one`` which of
    two knees is the bad one.
3.  The person (``person``, ``nobody``, ``pains``): age, sex, time, mechanism and complaint are taken out.
4.  Settled items (``settle``): words with two meanings get one by their neighbours, one small module for each
    kind (``noes``, ``nothings``, ``pairs``, ``boths``, ``bends``, ``stress``, ``signed``, ``sites`` ...).
    Here a sign that needs a place or details becomes a head that has them.
5.  Nodes (``nodes``): heads, what may be said of them, sides, gaps and turns, as the grammar sees them.
6.  Events (``clauses``): every run of nodes is parsed at once. ``attach`` weighs which word belongs to which
    sign, ``fitting`` says what can be said of which, ``builder`` makes claims (``claims``) of the best split.
7.  Complete claims (``corrections``, then ``lists``): what was put right replaces what it corrects; a "no"
    and a result reach all that share them (``sharing``, ``stray``); a result without a sign gets that of the
    one before (``carry``), "the same" that of the test before (``likewise``), or it means a whole knee
    (``normal``), or implies its sign (``implied``).
8.  Sides (``sides``): which knee a claim is about, by the part that each named side plays (``roles``).
9.  Meaning (``meaning``): what a claim amounts to (``outcome``), by the reader of its sign (``movement``,
    ``ligaments``, ``places``, ``scales`` ...) or the plain one (``plain``); history by ``history``.
10. Proposals (``proposals``): findings of each knee, or a question; "the same" (``same``) and a whole knee
    (``whole``) are filled in; what does not agree is asked about (``conflicts``), and so is what is well but
    for a "but" that was not understood (``contradicted``), and what is told of the past of the knee that is
    not complained of (``other_knee``).
11. Spans (``account``, ``spans``): every character belongs to one span, the words that plainly tell of an
    image (``images``) to its own; what was recognised and is neither proposed nor asked about must have one
    of a few reasons, or is asked about; a sentence of which nothing was understood is one question
    (``gathered``).

Two principles hold everywhere: a side or a direction is never guessed, and nothing recognised is lost. The
names and words themselves are data (``data/*.toml``); rules about how words stand together are code.
"""

from fabella.dictation.understand import understand
from fabella.dictation.understood import Became, Choice, Span, Understood

__all__ = ["Became", "Choice", "Span", "Understood", "understand"]
