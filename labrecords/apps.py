from django.apps import AppConfig


class LabrecordsConfig(AppConfig):
    name = "labrecords"
    verbose_name = "Laboratory records"
    default_auto_field = "django.db.models.BigAutoField"
