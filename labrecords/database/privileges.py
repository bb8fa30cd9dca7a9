"""Which role may do what to which table, in one place, applied after each migrate.

The runtime role owns nothing. On records it may read and add; nothing else is granted, so nothing else works,
whatever a program asks for. The portal's role reads what a client page shows and adds that it was opened.
"""

from django.db import connection

APP, PORTAL = "labrecords_app", "labrecords_portal"

RECORD = "SELECT, INSERT"
TABLE = "SELECT, INSERT, UPDATE"
FREE = "SELECT, INSERT, UPDATE, DELETE"
READ = "SELECT"

PRIVILEGES: dict[str, str] = {
    # records: added, never changed
    "labrecords_authorisation": RECORD,
    "labrecords_withdrawal": RECORD,
    "labrecords_methodversion": RECORD,
    "labrecords_calibration": RECORD,
    "labrecords_calibrationreview": RECORD,
    "labrecords_equipmentevent": RECORD,
    "labrecords_equipmentdocument": RECORD,
    "labrecords_checkbaseline": RECORD,
    "labrecords_checkreading": RECORD,
    "labrecords_discrepancy": RECORD,
    "labrecords_discrepancyanswer": RECORD,
    "labrecords_treatment": RECORD,
    "labrecords_nonconformity": RECORD,
    "labrecords_studyhold": RECORD,
    "labrecords_reportinquestion": RECORD,
    "labrecords_nonconformitystep": RECORD,
    "labrecords_conditioning": RECORD,
    "labrecords_custodyevent": RECORD,
    "labrecords_lot": RECORD,
    "labrecords_pack": RECORD,
    "labrecords_specimen": RECORD,
    "labrecords_result": RECORD,
    "labrecords_void": RECORD,
    "labrecords_refusal": RECORD,
    "labrecords_entry": RECORD,
    "labrecords_deviation": RECORD,
    "labrecords_deviationdecision": RECORD,
    "labrecords_tracefile": RECORD,
    "labrecords_tracelayout": RECORD,
    "labrecords_trace": RECORD,
    "labrecords_photo": RECORD,
    "labrecords_photoaside": RECORD,
    "labrecords_waitingfile": RECORD,
    "labrecords_traydecision": RECORD,
    "labrecords_labelprint": RECORD,
    "labrecords_scannercheck": RECORD,
    "labrecords_review": RECORD,
    "labrecords_signature": RECORD,
    "labrecords_report": RECORD,
    "labrecords_reportfile": RECORD,
    "labrecords_opening": RECORD,
    "labrecords_signin": RECORD,
    "labrecords_archiveorder": RECORD,
    "labrecords_archive": RECORD,
    "labrecords_reportlink": RECORD,
    "labrecords_linkrevocation": RECORD,
    "labrecords_linkfailure": RECORD,
    "labrecords_reportamendment": RECORD,
    "labrecords_reportwithdrawal": RECORD,
    "labrecords_event": RECORD,
    "labrecords_settingevidence": RECORD,
    "labrecords_derivedlimit": RECORD,
    "labrecords_limitdecision": RECORD,
    "labrecords_correction": RECORD,
    "labrecords_correctiondecision": RECORD,
    "labrecords_protocol": RECORD,
    "labrecords_protocolanswer": RECORD,
    "labrecords_pullorder": RECORD,
    "labrecords_uncertaintybudget": RECORD,
    "labrecords_budgetdecision": RECORD,
    "labrecords_pullplace": RECORD,
    "labrecords_validationdecision": RECORD,
    "labrecords_seal": READ,  # written by the database itself
    # tables that change in the ways the actions and the triggers allow; no row is ever deleted
    "labrecords_laboratory": TABLE,
    "labrecords_counter": TABLE,
    "labrecords_user": TABLE,
    "labrecords_apitoken": TABLE,
    "labrecords_calendarfeed": TABLE,
    "labrecords_secondfactor": TABLE,
    "labrecords_recoverycode": TABLE,
    "labrecords_badge": TABLE,
    "labrecords_client": TABLE,
    "labrecords_project": TABLE,
    "labrecords_method": TABLE,
    "labrecords_equipment": TABLE,
    "labrecords_study": TABLE,
    "labrecords_run": TABLE,
    # a draft's plan may be rewritten until it is locked; then the trigger refuses
    "labrecords_setup": FREE,
    "labrecords_plangroup": FREE,
    "labrecords_limit": FREE,
    "labrecords_sealingwindow": FREE,
    "labrecords_sealingsetting": FREE,
    "labrecords_validationplan": FREE,
    "labrecords_validationperson": FREE,
    "labrecords_criterion": FREE,
    # jobs that were put off, and who works on them: nothing here is a record
    "procrastinate_jobs": FREE,
    "procrastinate_events": FREE,
    "procrastinate_periodic_defers": FREE,
    "procrastinate_workers": FREE,
    # Django's own
    "labrecords_user_groups": FREE,
    "labrecords_user_user_permissions": READ,
    "auth_group": "SELECT, INSERT",
    "auth_group_permissions": READ,
    "auth_permission": READ,
    "django_content_type": READ,
    "django_migrations": READ,
    "django_session": FREE,
}

PORTAL_PRIVILEGES: dict[str, str] = {
    "labrecords_laboratory": READ,
    "labrecords_client": READ,
    "labrecords_project": READ,
    "labrecords_study": READ,
    "labrecords_report": READ,
    "labrecords_reportfile": READ,
    "labrecords_reportwithdrawal": READ,
    "labrecords_protocol": READ,
    "labrecords_protocolanswer": READ,
    "labrecords_signature": READ,
    "labrecords_opening": "INSERT",
    # the trail holds every client's results: the portal adds to it and reads back only the number given
    "labrecords_event": "INSERT, SELECT (id, xid)",
}


def tables() -> set[str]:
    """Names of all tables that are there."""
    with connection.cursor() as cursor:
        cursor.execute("select tablename from pg_tables where schemaname = 'public'")
        return {name for (name,) in cursor.fetchall()}


def unlisted() -> set[str]:
    """Tables nobody has decided about; there must be none."""
    return tables() - PRIVILEGES.keys()


def apply() -> None:
    """Take everything back, then grant what is listed. Run as the owner, after migrate."""
    missing = unlisted()
    if missing:
        raise LookupError(
            f"{', '.join(sorted(missing))}: add to PRIVILEGES in labrecords/database/privileges.py what the "
            "runtime role may do there, then run migrate again."
        )
    with connection.cursor() as cursor:
        for statement in _statements():
            cursor.execute(statement)


def _statements() -> list[str]:
    taken = [
        f"REVOKE ALL ON ALL {what} IN SCHEMA public FROM PUBLIC, {APP}, {PORTAL}" for what in ("TABLES", "SEQUENCES")
    ]
    taken.append("REVOKE CREATE ON SCHEMA public FROM PUBLIC")
    granted = [f"GRANT USAGE ON SCHEMA public TO {APP}, {PORTAL}"]
    granted += [f'GRANT {rights} ON "{table}" TO {APP}' for table, rights in PRIVILEGES.items()]
    granted += [f'GRANT {rights} ON "{table}" TO {PORTAL}' for table, rights in PORTAL_PRIVILEGES.items()]
    granted.append(f"GRANT USAGE ON ALL SEQUENCES IN SCHEMA public TO {APP}, {PORTAL}")
    return taken + granted
