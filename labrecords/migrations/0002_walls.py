"""The walls: kept records, the hard rules of the gate, frozen set-ups, and the sealed audit trail."""

import pathlib

from django.db import migrations

FOLDER = pathlib.Path(__file__).parent / "sql"


def sql(name: str) -> migrations.RunSQL:
    return migrations.RunSQL((FOLDER / f"{name}.sql").read_text(encoding="utf-8"))


class Migration(migrations.Migration):
    dependencies = [("labrecords", "0001_initial")]
    operations = [
        sql("records"),
        sql("seal"),
        sql("gate"),
        sql("setup"),
        sql("windows"),
        sql("validations"),
        sql("budgets"),
        sql("corrections"),
        sql("photos"),
        sql("amendments"),
        sql("protocols"),
        sql("second_factors"),
        sql("portal"),
    ]
