"""The one shape of every error."""

from rest_framework import serializers


class ReasonSerializer(serializers.Serializer):
    """One reason: a code to act on, and the words to show to a person."""

    code = serializers.CharField(help_text="Such as rate-changed; the same as on pages and in the records.")
    headline = serializers.CharField(help_text="What did not happen.")
    rule = serializers.CharField(help_text="The rule that stands behind it; empty where none does.")
    why = serializers.CharField(help_text="A sentence with the facts in it.")
    who = serializers.CharField(help_text="Who can lift it.")
    next = serializers.CharField(help_text="What to do next.")
    facts = serializers.DictField(child=serializers.CharField(), help_text="The facts by name, as text.")


class ProblemSerializer(serializers.Serializer):
    """Why a request was not answered or an entry not kept; every error has this shape."""

    code = serializers.CharField(help_text="The code that decided the status.")
    detail = serializers.CharField(help_text="One sentence.")
    refusal = serializers.UUIDField(allow_null=True, help_text="The stored refusal, where the gate refused.")
    codes = serializers.ListField(child=serializers.CharField(), help_text="The codes of all reasons.")
    answers = ReasonSerializer(many=True, help_text="All reasons at once.")
