"""Polls as a whole: silence, lateness, conditions, proxies, changes of mind, and the decision over them."""
from debrief.checks.polls import poll_check, polls_of
from debrief.checks.review import Review
from debrief.harvest.talk import Talk
from debrief.records.rows import Field, Part, Row


def answer(turn, station, reply, question="lift", **more):
    fields = {"station": Field(station), "answer": Field(reply), "question": Field(question)} | {k: Field(v) for k, v in more.items()}
    return Row("polls", fields, (Part("answer", reply, start_s=10.0 * turn),), turn=turn, station=station)


def says(*rows):
    return [result.says for result in poll_check(Review(rows, Talk(()))).results]


def decided(turn, question="lift"):
    return answer(turn, "Lead", "GO", question, decision=True)


def test_a_plain_poll_leaves_nothing_to_look_at():
    assert says(answer(1, "Winch", "GO"), answer(2, "Medic", "GO"), decided(3)) == []


def test_no_rows_no_results():
    assert says() == []


def test_each_thing_that_a_poll_leaves_open_is_told():
    rows = (answer(1, "Winch", "STAND BY"), answer(2, "Medic", "none"), answer(3, "Winch", "GO"),
            answer(4, "Deck", "GO", condition="as long as it stays below ten"), answer(5, "Crane", "GO", given_by="Deck"), decided(6),
            answer(9, "Cook", "NO-GO", late=True))
    assert says(*rows) == [
        "poll for lift: Medic was asked, and no answer was heard",
        "poll for lift: Deck answered GO on a condition: as long as it stays below ten",
        "poll for lift: Deck answered for Crane",
        "poll for lift: Cook answered after the decision",
        "poll for lift: Winch answered STAND BY, then GO",
        "poll for lift: GO was decided with Medic not heard"]


def test_a_decision_over_a_no_go_is_serious_and_marks_both_rows():
    rows = (answer(1, "Winch", "NO-GO"), decided(2))
    found = poll_check(Review(rows, Talk(())))
    (result,) = found.results
    assert result.serious
    assert result.rows == (1, 0)
    assert set(found.changed) == {0, 1}


def test_a_new_question_is_a_new_poll_and_a_late_answer_belongs_to_the_old_one():
    rows = (answer(1, "Winch", "GO"), decided(2), answer(3, "Medic", "GO", late=True), answer(4, "Winch", "GO", "lower"))
    assert [(poll.question, len(poll.answers), poll.decision is not None) for poll in polls_of(Review(rows, Talk(())))] == [
        ("lift", 2, True), ("lower", 1, False)]
