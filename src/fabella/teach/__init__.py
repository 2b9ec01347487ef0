"""Practice: the model of the knee run forwards, so that students meet knees a volunteer cannot show."""

from fabella.teach.actions import Act, Event, event_tree, faults, named_twice, read_event
from fabella.teach.answer import debrief_tree
from fabella.teach.cards import Cards, cards_of
from fabella.teach.curricula import Curriculum, load_curricula
from fabella.teach.debriefed import Debrief
from fabella.teach.debriefing import debrief
from fabella.teach.dice import Dice
from fabella.teach.difficulty import Difficulty, measure_difficulty
from fabella.teach.drawn import VIEWS, motion_of, seen_legs, seen_so_far, still_of, walk_of
from fabella.teach.due import DueRecipe, recipe_for
from fabella.teach.encounter import Encounter
from fabella.teach.facts import BeliefFact, HabitFact, Reading, RunFacts, SignFact, facts_of
from fabella.teach.hidden import Hidden
from fabella.teach.learned import Learned, learned_from
from fabella.teach.next_time import Lesson, Topic
from fabella.teach.patient import draw_patient
from fabella.teach.players import play_ideal, play_random
from fabella.teach.playing import act, begin, replay
from fabella.teach.reasoning import Reasoner
from fabella.teach.recipe import Recipe, read_recipe, write_recipe
from fabella.teach.recognition import Rate, Recognition
from fabella.teach.repetition import Item, ItemKind, Scheduled, due_on, schedule
from fabella.teach.run import Door, Run, Terms, Turn
from fabella.teach.said import said_of
from fabella.teach.seen import Face, LegLook, Look, Seen, Shown, seen_tree
from fabella.teach.wish import practice_lesions, recipe_with

__all__ = [
    "VIEWS",
    "Act",
    "BeliefFact",
    "Cards",
    "Curriculum",
    "Debrief",
    "Dice",
    "Difficulty",
    "Door",
    "DueRecipe",
    "Encounter",
    "Event",
    "Face",
    "HabitFact",
    "Hidden",
    "Item",
    "ItemKind",
    "Learned",
    "LegLook",
    "Lesson",
    "Look",
    "Rate",
    "Reading",
    "Reasoner",
    "Recipe",
    "Recognition",
    "Run",
    "RunFacts",
    "Scheduled",
    "Seen",
    "Shown",
    "SignFact",
    "Terms",
    "Topic",
    "Turn",
    "act",
    "begin",
    "cards_of",
    "debrief",
    "debrief_tree",
    "draw_patient",
    "due_on",
    "event_tree",
    "facts_of",
    "faults",
    "learned_from",
    "load_curricula",
    "measure_difficulty",
    "motion_of",
    "named_twice",
    "play_ideal",
    "play_random",
    "practice_lesions",
    "read_event",
    "read_recipe",
    "recipe_for",
    "recipe_with",
    "replay",
    "said_of",
    "schedule",
    "seen_legs",
    "seen_so_far",
    "seen_tree",
    "still_of",
    "walk_of",
    "write_recipe",
]
