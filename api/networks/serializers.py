"""Shapes of networks in answers."""

from rest_framework import serializers

from api.networks.models import Membership
from api.web.serializers import InstantOut


class MemberOut(serializers.ModelSerializer):
    name = serializers.CharField(source="user.name", read_only=True)
    email = serializers.EmailField(source="user.email", read_only=True)
    joined_at = InstantOut()

    class Meta:
        model = Membership
        fields = ["id", "version", "name", "email", "role", "joined_at"]


class MemberPageOut(serializers.Serializer):
    results = MemberOut(many=True)
    next = serializers.CharField(allow_null=True, help_text="Send it as cursor to get the page after this.")
