"""What is asked of a store in a file, asked of one on a server: the same tests over the other database."""

from __future__ import annotations

import pytest

from armrise.store.database.place import Store
from tests.store.test_board import (  # noqa: F401
    test_a_correction_withdrawn_brings_the_entry_back,
    test_as_known_at_an_earlier_instant,
    test_both_shoulders_of_a_person_share_screens_and_flags,
    test_the_present_pathway_is_that_of_the_newest_step,
)
from tests.store.test_desk import (  # noqa: F401
    test_a_draft_is_dropped,
    test_looking_is_noted_for_each_clinician,
    test_the_newest_typing_replaces_and_an_emptied_form_leaves_nothing,
)
from tests.store.test_ledger import (  # noqa: F401
    test_a_caseload_is_taken_whole,
    test_a_new_case_and_its_first_entries_are_written_together_or_not_at_all,
    test_a_shoulder_has_one_open_case,
    test_an_unknown_case_is_refused_with_a_near_one,
    test_changed_since_opened,
    test_undo_is_once_same_day_and_own_case,
)
from tests.store.test_news import test_news_is_what_others_recorded_since_the_case_was_opened  # noqa: F401
from tests.store.test_round_trip import (  # noqa: F401
    test_exercises_keep_their_order_and_their_session,
    test_the_four_absences_are_four_values,
)
from tests.store.test_take_again import (  # noqa: F401
    kept,
    test_nothing_of_a_file_is_known_before_it_came,
    test_what_came_is_news_to_who_looked_before,
    test_what_is_new_is_added_and_keeps_when_it_was_recorded,
)
from tests.store.test_timeline import (  # noqa: F401
    ledger,
    test_a_move_is_undone_in_both_cases,
    test_an_entry_of_another_patient_is_moved_in_one_action,
    test_an_entry_replaced_stays_and_leads_to_what_stands_instead,
)


@pytest.fixture
def store(on_server: Store) -> Store:
    """In the place of the store in a file."""
    return on_server
