"""How is a case written as JSON? Teeth are ISO 3950, days and moments ISO 8601."""

from rest_framework import serializers

from casework.boards.rules import TURN_LABELS
from casework.cases.models import Summary


class SummarySerializer(serializers.ModelSerializer):
    """One case as the reader's party sees it; nothing personal of the patient."""

    teeth = serializers.SerializerMethodField()
    turn = serializers.SerializerMethodField()
    not_ready_because = serializers.SerializerMethodField()

    class Meta:
        model = Summary
        fields = (
            "code",
            "side",
            "stage",
            "stage_since",
            "teeth",
            "practice_name",
            "laboratory_name",
            "assigned_name",
            "is_turn",
            "turn",
            "is_on_hold",
            "is_open",
            "is_rush",
            "wanted_on",
            "promised_on",
            "due_on",
            "visit_kind",
            "visit_name",
            "visit_at",
            "parts_expected_on",
            "parts_here",
            "not_ready_because",
            "open_question_count",
        )
        read_only_fields = fields

    def get_teeth(self, row):
        return row.teeth.split()

    def get_turn(self, row):
        return {"name": row.turn, "label": TURN_LABELS.get(row.turn, "")}

    def get_not_ready_because(self, row):
        return row.not_ready_because.splitlines()
