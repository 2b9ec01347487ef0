"""Exam day, computed: marks, pass marks, reliability, examiners, items and decisions."""

from fabella.assess.analysis_tree import analysis_tree, write_analysis
from fabella.assess.angoff_rounds import AngoffRound, Estimates, angoff
from fabella.assess.basis import Basis, Part
from fabella.assess.blueprint import Blueprint, GradeScale, Item, ItemTable, Station, item_table
from fabella.assess.blueprint_file import read_blueprint, read_item_table, write_blueprint
from fabella.assess.borderline_regression import FEW_ON_A_LINE, Contradiction, Line, LineFlag, fit_line
from fabella.assess.classical import Alpha, alpha
from fabella.assess.classification import Classification, livingston_lewis, normal_classification
from fabella.assess.common_factor import Omega, OmegaFlag, omega
from fabella.assess.compromise import Bounds, CohortCut, CohortFlag, cohen, hofstee
from fabella.assess.coverage import Coverage
from fabella.assess.decided import Decision, Outcome, Reason, Results
from fabella.assess.deciding import decide
from fabella.assess.dependable import Generalizability
from fabella.assess.effects import (
    Alternative,
    Review,
    RuleEffect,
    alternatives,
    compare,
    held_against,
    review_list,
    rule_effects,
)
from fabella.assess.estimated import marked_otherwise, worth_of
from fabella.assess.exam_facets import Facets
from fabella.assess.exam_flags import About, Flag
from fabella.assess.examiners import ExaminerStudy
from fabella.assess.freezing import write_marks, write_results
from fabella.assess.gathering import OPTIONAL, REQUIRED, Roster, gather
from fabella.assess.groups import FEW_IN_A_GROUP, GroupCut, GroupFlag, borderline_group, contrasting_groups
from fabella.assess.handovers import Handover
from fabella.assess.items import ItemFacts, ItemFlag, analyse_items
from fabella.assess.marks import MISSING, Marks, State, candidate_circuit, digest
from fabella.assess.noise import CutNoise, cut_noise
from fabella.assess.parquet import read_parquet_marks
from fabella.assess.pass_mark import PassMark, own_cuts
from fabella.assess.plan_file import PlanFile, read_plan
from fabella.assess.planning import Costs, Priced, cheapest, plans_between
from fabella.assess.planning_outlook import PassRule, Plan, Spreads, outlook
from fabella.assess.planning_trial import Trial, trial
from fabella.assess.reading import read_marks
from fabella.assess.repeating import is_repeated
from fabella.assess.resampling import resample
from fabella.assess.rules import CutMethod, ErrorOf, Rounding, Rules, StationsRule, Unreached
from fabella.assess.rules_file import read_rules, write_rules
from fabella.assess.scores import Scores, score
from fabella.assess.setting import set_pass_mark
from fabella.assess.spacing import space_grades
from fabella.assess.station_page import StationPage, station_pages
from fabella.assess.subscores import Subscore, domain_errors, weigh_domains, weigh_subscore
from fabella.assess.timing import ItemReach, StationTiming, analyse_timing, never_reached
from fabella.assess.whole_exam import Analysis, analyse

__all__ = [
    "FEW_IN_A_GROUP",
    "FEW_ON_A_LINE",
    "MISSING",
    "OPTIONAL",
    "REQUIRED",
    "About",
    "Alpha",
    "Alternative",
    "Analysis",
    "AngoffRound",
    "Basis",
    "Blueprint",
    "Bounds",
    "Classification",
    "CohortCut",
    "CohortFlag",
    "Contradiction",
    "Costs",
    "Coverage",
    "CutMethod",
    "CutNoise",
    "Decision",
    "ErrorOf",
    "Estimates",
    "ExaminerStudy",
    "Facets",
    "Flag",
    "Generalizability",
    "GradeScale",
    "GroupCut",
    "GroupFlag",
    "Handover",
    "Item",
    "ItemFacts",
    "ItemFlag",
    "ItemReach",
    "ItemTable",
    "Line",
    "LineFlag",
    "Marks",
    "Omega",
    "OmegaFlag",
    "Outcome",
    "Part",
    "PassMark",
    "PassRule",
    "Plan",
    "PlanFile",
    "Priced",
    "Reason",
    "Results",
    "Review",
    "Roster",
    "Rounding",
    "RuleEffect",
    "Rules",
    "Scores",
    "Spreads",
    "State",
    "Station",
    "StationPage",
    "StationTiming",
    "StationsRule",
    "Subscore",
    "Trial",
    "Unreached",
    "alpha",
    "alternatives",
    "analyse",
    "analyse_items",
    "analyse_timing",
    "analysis_tree",
    "angoff",
    "borderline_group",
    "candidate_circuit",
    "cheapest",
    "cohen",
    "compare",
    "contrasting_groups",
    "cut_noise",
    "decide",
    "digest",
    "domain_errors",
    "fit_line",
    "gather",
    "held_against",
    "hofstee",
    "is_repeated",
    "item_table",
    "livingston_lewis",
    "marked_otherwise",
    "never_reached",
    "normal_classification",
    "omega",
    "outlook",
    "own_cuts",
    "plans_between",
    "read_blueprint",
    "read_item_table",
    "read_marks",
    "read_parquet_marks",
    "read_plan",
    "read_rules",
    "resample",
    "review_list",
    "rule_effects",
    "score",
    "set_pass_mark",
    "space_grades",
    "station_pages",
    "trial",
    "weigh_domains",
    "weigh_subscore",
    "worth_of",
    "write_analysis",
    "write_blueprint",
    "write_marks",
    "write_results",
    "write_rules",
]
