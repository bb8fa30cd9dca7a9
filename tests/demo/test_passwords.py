"""Passwords of the demo: long enough for the system's own rules, and no two alike."""

from django.contrib.auth.password_validation import validate_password

from labrecords.management.demo.passwords import one_time_password


def test_passwords_pass_the_rules_and_differ():
    made = [one_time_password() for _ in range(200)]
    assert len(set(made)) == 200
    for password in made:
        validate_password(password)
        assert len(password) >= 15
