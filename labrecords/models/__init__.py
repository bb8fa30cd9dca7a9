"""Tables. One noun a file; what may be done with them is in actions/, what is asked of them in queries/."""

from .audit import Event, Seal
from .base import Record, RecordIsKept, Table, new_id
from .clients import Client, Project
from .equipment import Calibration, CalibrationReview, Equipment, EquipmentEvent
from .lab import Counter, Laboratory
from .methods import Method, MethodVersion
from .people import ApiToken, Authorisation, User, Withdrawal
from .reports import Opening, Report, ReportFile
from .results import Deviation, DeviationDecision, Entry, Refusal, Result, Run, Void
from .review import Review, Signature
from .samples import Conditioning, CustodyEvent, Lot, Pack, Specimen
from .studies import Limit, PlanGroup, Setup, Study
from .traces import Trace, TraceFile, TraceLayout

__all__ = [
    "ApiToken",
    "Authorisation",
    "Calibration",
    "CalibrationReview",
    "Client",
    "Conditioning",
    "Counter",
    "CustodyEvent",
    "Deviation",
    "DeviationDecision",
    "Entry",
    "Equipment",
    "EquipmentEvent",
    "Event",
    "Laboratory",
    "Limit",
    "Lot",
    "Method",
    "MethodVersion",
    "Opening",
    "Pack",
    "PlanGroup",
    "Project",
    "Record",
    "RecordIsKept",
    "Refusal",
    "Report",
    "ReportFile",
    "Result",
    "Review",
    "Run",
    "Seal",
    "Setup",
    "Signature",
    "Specimen",
    "Study",
    "Table",
    "Trace",
    "TraceFile",
    "TraceLayout",
    "User",
    "Void",
    "Withdrawal",
    "new_id",
]
