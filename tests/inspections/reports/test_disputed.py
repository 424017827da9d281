"""What a report calls two answers is what the engine called disputed when the report was frozen."""

from inspections.reports.checks import with_twins

PAIR = {
    "beam.bending": {"twins": ["beam.span_table"], "why_apart": "the table groups species"},
    "beam.span_table": {"twins": ["beam.bending", "beam.shear"], "why_apart": "the table groups species"},
}


def frozen(check_id, verdict, **more):
    return {"id": check_id, "subject": "beam B1", "verdict": verdict, "ratio": None, "demand": None, **more}


def test_a_table_that_fails_is_no_second_answer_because_one_of_its_calculations_holds():
    checks = [
        frozen("beam.bending", "fails", disputed=False),
        frozen("beam.shear", "holds", disputed=False),
        frozen("beam.span_table", "fails", disputed=False),
    ]
    assert [check.words for check in with_twins(checks, PAIR)] == ["Falls short", "Holds", "Falls short"]


def test_a_report_frozen_before_the_engine_said_so_is_told_by_its_checks():
    checks = [frozen("beam.bending", "fails"), frozen("beam.span_table", "holds")]
    assert [check.words for check in with_twins(checks, PAIR)] == ["Two answers", "Holds"]
