"""A reader gets the rule's sentence, never the key under which the engine keeps it."""

import re

from engine.tables import load
from inspections.survey.rule_words import in_words


def test_a_rule_that_says_yes_or_no_is_given_as_its_sentence():
    said = in_words("guard_post.notch_allowed = 0 yes/no (DCA 6-2012 guard details)")
    assert said == "4x4 guard posts are not notched where they meet the frame (DCA 6-2012 guard details)"


def test_a_rule_with_a_number_keeps_the_number_its_unit_and_its_source():
    said = in_words("stringer.cut_max_spacing = 18 in (DCA 6-2012 Figure 30)")
    assert said == "cut stringers, centre to centre: 18 in (DCA 6-2012 Figure 30)"


def test_words_that_name_no_key_stay_as_they_are():
    assert in_words("beam span table (IRC 2021 Table R507.5(1))") == "beam span table (IRC 2021 Table R507.5(1))"
    assert in_words("no.such_rule = 3 in (X)") == "no.such_rule = 3 in (X)"


def test_no_rule_of_the_table_comes_out_as_its_key():
    for row in load("rules").rows:
        said = in_words(f"{row['key']} = {row['value']} {row['unit']} ({row['citation']})")
        assert not re.search(rf"(?<!\w){re.escape(str(row['key']))}(?!\w)", said)
