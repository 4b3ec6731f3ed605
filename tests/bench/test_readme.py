from tests.bench.readme import HEAD, README, speed_table, with_table


def row(**told):
    return {
        "part": "fit", "work": "fit page", "against": "a bare view", "ratio": 2.347, "goal": 3,
        "at_least": False, "reached": True,
    } | told  # fmt: skip


class TestSpeedTable:
    def test_a_row_that_misses_says_so(self):
        assert "| fit page | a bare view | 2.35 × | ≤ 3 × |" in speed_table([row()])
        missed = speed_table([row(reached=False, at_least=True, goal=4)])
        assert "| **2.35 ×, missed** | ≥ 4 × |" in missed

    def test_leaves_out_what_is_not_about_speed(self):
        assert "fit page" not in speed_table([row(part="backtest"), row(against="the truth")])


class TestReadme:
    def test_holds_one_table_that_is_written_anew(self):
        text = README.read_text(encoding="utf-8")
        once = with_table(text, speed_table([row()]))
        assert once.count("| fit page |") == once.count(HEAD) == text.count(HEAD) == 1
        again = with_table(once, speed_table([]))
        assert "fit page |" not in again
        assert again.endswith(text[-200:])
