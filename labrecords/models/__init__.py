"""Tables. One noun a file; what may be done with them is in actions/, what is asked of them in queries/."""

from .archives import Archive, ArchiveOrder
from .audit import Event, Seal
from .badges import Badge
from .base import Record, RecordIsKept, Table, new_id
from .budgets import BudgetDecision, UncertaintyBudget
from .calendar import CalendarFeed
from .clients import Client, Project
from .corrections import Correction, CorrectionDecision
from .equipment import (
    Calibration,
    CalibrationReview,
    CheckBaseline,
    CheckReading,
    Equipment,
    EquipmentDocument,
    EquipmentEvent,
)
from .lab import Counter, Laboratory
from .labels import LabelPrint
from .links import LinkFailure, LinkRevocation, ReportLink
from .methods import Method, MethodVersion
from .nonconforming import Nonconformity, NonconformityStep, ReportInQuestion, StudyHold
from .people import ApiToken, Authorisation, User, Withdrawal
from .photos import Photo, PhotoAside
from .protocols import Protocol, ProtocolAnswer
from .reports import Opening, Report, ReportAmendment, ReportFile, ReportWithdrawal
from .results import Deviation, DeviationDecision, Entry, Refusal, Result, Run, Void
from .review import Review, Signature
from .samples import Conditioning, CustodyEvent, Discrepancy, DiscrepancyAnswer, Lot, Pack, Specimen, Treatment
from .scanners import ScannerCheck
from .second_factors import RecoveryCode, SecondFactor
from .sign_ins import SignIn
from .studies import Limit, PlanGroup, Setup, Study
from .traces import Trace, TraceFile, TraceLayout
from .tray import TrayDecision, WaitingFile
from .validations import Criterion, PullOrder, PullPlace, ValidationDecision, ValidationPerson, ValidationPlan
from .windows import DerivedLimit, LimitDecision, SealingSetting, SealingWindow, SettingEvidence

__all__ = [
    "ApiToken",
    "Archive",
    "ArchiveOrder",
    "Authorisation",
    "Badge",
    "BudgetDecision",
    "CalendarFeed",
    "Calibration",
    "CalibrationReview",
    "CheckBaseline",
    "CheckReading",
    "Client",
    "Conditioning",
    "Correction",
    "CorrectionDecision",
    "Counter",
    "Criterion",
    "CustodyEvent",
    "DerivedLimit",
    "Deviation",
    "DeviationDecision",
    "Discrepancy",
    "DiscrepancyAnswer",
    "Entry",
    "Equipment",
    "EquipmentDocument",
    "EquipmentEvent",
    "Event",
    "LabelPrint",
    "Laboratory",
    "Limit",
    "LimitDecision",
    "LinkFailure",
    "LinkRevocation",
    "Lot",
    "Method",
    "MethodVersion",
    "Nonconformity",
    "NonconformityStep",
    "Opening",
    "Pack",
    "Photo",
    "PhotoAside",
    "PlanGroup",
    "Project",
    "Protocol",
    "ProtocolAnswer",
    "PullOrder",
    "PullPlace",
    "Record",
    "RecordIsKept",
    "RecoveryCode",
    "Refusal",
    "Report",
    "ReportAmendment",
    "ReportFile",
    "ReportInQuestion",
    "ReportLink",
    "ReportWithdrawal",
    "Result",
    "Review",
    "Run",
    "ScannerCheck",
    "Seal",
    "SealingSetting",
    "SealingWindow",
    "SecondFactor",
    "SettingEvidence",
    "Setup",
    "SignIn",
    "Signature",
    "Specimen",
    "Study",
    "StudyHold",
    "Table",
    "Trace",
    "TraceFile",
    "TraceLayout",
    "TrayDecision",
    "Treatment",
    "UncertaintyBudget",
    "User",
    "ValidationDecision",
    "ValidationPerson",
    "ValidationPlan",
    "Void",
    "WaitingFile",
    "Withdrawal",
    "new_id",
]
