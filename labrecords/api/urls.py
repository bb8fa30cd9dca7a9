"""Addresses of the programming interface; anything else under it is one JSON "not found"."""

from django.urls import path, re_path

from .analyses import Budgets, Comparison, StudyChanges, StudyPrecision, StudyValidation, StudyWindow
from .base import Unknown
from .equipment import CheckEntry, DueList, EquipmentList, ItemCalibrations, LookBack, NonconformityList
from .photographs import Original, PhotographEntry, Picture, StudyPhotographs
from .reference import reference
from .results import ResultEntry, StudyResults
from .schema import Document
from .studies import OneStudy, StudyRefusals, StudyRuns, StudySpecimens, StudySummary

app_name = "api"
urlpatterns = [
    path("", reference, name="reference"),
    path("schema/", Document.as_view(), name="schema"),
    path("results/", ResultEntry.as_view(), name="results"),
    path("photographs/", PhotographEntry.as_view(), name="photographs"),
    path("photographs/<uuid:photo_id>/picture/", Picture.as_view(), name="picture"),
    path("photographs/<uuid:photo_id>/original/", Original.as_view(), name="original"),
    path("equipment/", EquipmentList.as_view(), name="equipment"),
    path("equipment/checks/", CheckEntry.as_view(), name="checks"),
    path("equipment/<str:label>/calibrations/", ItemCalibrations.as_view(), name="calibrations"),
    path("calibrations/<uuid:calibration_id>/look-back/", LookBack.as_view(), name="look-back"),
    path("nonconforming/", NonconformityList.as_view(), name="nonconforming"),
    path("uncertainty/", Budgets.as_view(), name="uncertainty"),
    path("comparison/", Comparison.as_view(), name="comparison"),
    path("due/", DueList.as_view(), name="due"),
    path("studies/<slug:code>/", OneStudy.as_view(), name="study"),
    path("studies/<slug:code>/specimens/", StudySpecimens.as_view(), name="specimens"),
    path("studies/<slug:code>/runs/", StudyRuns.as_view(), name="runs"),
    path("studies/<slug:code>/results/", StudyResults.as_view(), name="study-results"),
    path("studies/<slug:code>/photographs/", StudyPhotographs.as_view(), name="study-photographs"),
    path("studies/<slug:code>/summary/", StudySummary.as_view(), name="summary"),
    path("studies/<slug:code>/window/", StudyWindow.as_view(), name="window"),
    path("studies/<slug:code>/precision/", StudyPrecision.as_view(), name="precision"),
    path("studies/<slug:code>/validation/", StudyValidation.as_view(), name="validation"),
    path("studies/<slug:code>/changes/", StudyChanges.as_view(), name="changes"),
    path("studies/<slug:code>/refusals/", StudyRefusals.as_view(), name="refusals"),
    re_path("", Unknown.as_view()),
]
