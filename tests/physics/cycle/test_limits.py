"""Limits are said in words."""

from catchpan.physics.cycle.limits import Limit, limit_words


def test_every_limit_has_its_own_words() -> None:
    words = [limit_words(int(limit)) for limit in Limit if limit]
    assert all(len(each) == 1 for each in words)
    assert len({each[0] for each in words}) == len(words) == 9


def test_several_limits_are_all_said_and_none_is_nothing() -> None:
    both = limit_words(int(Limit.FREEZE | Limit.NO_SUBCOOLING))
    assert len(both) == 2
    assert limit_words(0) == []
