"""Every address. Pages need a signed-in person unless they say otherwise."""

from django.contrib.auth import views as auth
from django.contrib.auth.decorators import login_not_required
from django.urls import include, path

from labrecords.views import equipment, home, people, refusals, review, runs, samples, studies, study_page, traces

urlpatterns = [
    path("", home.home, name="home"),
    path("sign-in/", login_not_required(auth.LoginView.as_view()), name="sign-in"),
    path("sign-out/", auth.LogoutView.as_view(), name="sign-out"),
    path("help/", home.help_page, name="help"),
    path("studies/", studies.study_list, name="studies"),
    path("studies/new/", studies.plan, name="new-study"),
    path("studies/<str:code>/", study_page.study, name="study"),
    path("studies/<str:code>/plan/", studies.plan, name="plan-study"),
    path("studies/<str:code>/lock/", studies.lock, name="lock-study"),
    path("studies/<str:code>/amend/", studies.amend, name="amend-study"),
    path("studies/<str:code>/withdraw/", studies.withdraw, name="withdraw-study"),
    path("studies/<str:code>/receive/", samples.receive, name="receive-lot"),
    path("studies/<str:code>/open-run/", runs.open_run, name="open-run"),
    path("studies/<str:code>/finish/", review.finish, name="finish-study"),
    path("studies/<str:code>/review/", review.review, name="review-study"),
    path("studies/<str:code>/release/", review.release, name="release-study"),
    path("lots/<str:label>/", samples.lot, name="lot"),
    path("lots/<str:label>/condition/", samples.condition, name="condition-lot"),
    path("lots/<str:label>/cut/", samples.cut, name="cut-lot"),
    path("lots/<str:label>/custody/", samples.custody, name="lot-custody"),
    path("specimens/<str:label>/", study_page.specimen, name="specimen"),
    path("specimens/<str:label>/void/", samples.void, name="void-specimen"),
    path("specimens/<str:label>/replace/", samples.replace, name="replace-specimen"),
    path("bench/", runs.bench, name="bench"),
    path("runs/<uuid:run_id>/", runs.run, name="run"),
    path("runs/<uuid:run_id>/close/", runs.close, name="close-run"),
    path("runs/<uuid:run_id>/files/", traces.receive, name="receive-traces"),
    path("runs/<uuid:run_id>/files/<uuid:file_id>/", traces.match, name="match-traces"),
    path("reviews/", review.queue, name="reviews"),
    path("deviations/<uuid:deviation_id>/", review.decide, name="decide-deviation"),
    path("equipment/", equipment.equipment_list, name="equipment"),
    path("equipment/new/", equipment.register, name="register-equipment"),
    path("equipment/<str:label>/", equipment.item, name="equipment-item"),
    path("equipment/<str:label>/calibrate/", equipment.calibrate, name="calibrate"),
    path("equipment/<str:label>/service/", equipment.service, name="equipment-service"),
    path("calibrations/<uuid:calibration_id>/review/", equipment.review, name="review-calibration"),
    path("people/", people.people_list, name="people"),
    path("refusals/", refusals.refusal_list, name="refusals"),
    path("reports/", include("labrecords.portal.urls")),
    path("api/", include("labrecords.api.urls")),
]
