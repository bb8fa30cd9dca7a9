"""Photographs of separated strips: what a program sends, and what it reads back."""

from rest_framework import serializers

from .fields import StrictSerializer, Text


class PhotographEntrySerializer(StrictSerializer):
    """One photograph as parts of a form. Its result is kept before it."""

    key = serializers.UUIDField(help_text="Made by the sender, once a photograph; the same key gives the same answer.")
    specimen = Text(max_length=60, help_text="Label, such as SP-000123-N.")
    caption = Text(max_length=2000, default="", allow_blank=True, help_text="What is to be seen, without the value.")
    file = serializers.FileField(help_text="JPEG or PNG, up to 15 MB and 40 million pixels.")


class PhotographSerializer(serializers.Serializer):
    """A photograph that is kept. What was written of it is left out while its result waits for a decision."""

    id = serializers.UUIDField()
    specimen = serializers.CharField(source="result.specimen.label")
    name = serializers.CharField()
    caption = serializers.CharField()
    media_type = serializers.CharField(help_text="Of the file as it came.")
    width = serializers.IntegerField(help_text="Pixels, upright.")
    height = serializers.IntegerField(help_text="Pixels, upright.")
    size = serializers.IntegerField(help_text="Bytes, as it came.")
    sha256 = serializers.CharField(help_text="Of the file as it came.")
    attached_at = serializers.DateTimeField(source="at")
    attached_by = serializers.CharField(source="by.username")
    standing = serializers.BooleanField(help_text="False for one that was attached in error and set aside.")
    withheld = serializers.BooleanField(
        help_text="Name and caption are not shown to whoever may decide the deviation under which the result is kept."
    )

    def to_representation(self, photo):
        """The photograph; of a withheld one neither name nor caption, which may tell the value."""
        shown = super().to_representation(photo)
        return shown | ({"name": "", "caption": ""} if shown["withheld"] else {})


class PhotographsSerializer(serializers.Serializer):
    """The photographs of a study, in the order in which they came."""

    photographs = PhotographSerializer(many=True)
