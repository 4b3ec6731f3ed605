"""Which labels name one band (common practice, no source)."""

import pytest

from inventory.catalog.radio import band, megahertz, same_band


class TestMegahertz:
    @pytest.mark.parametrize(
        ("label", "value"), [(315, 315), ("433,92 MHz", 433.92), ("2.4 GHz", 2400), (314.9, 314.9)]
    )
    def test_reads_what_labels_print(self, label, value):
        assert float(megahertz(label)) == value

    def test_says_what_to_write_instead(self):
        with pytest.raises(ValueError, match="not a frequency") as refused:
            megahertz("high")
        assert str(refused.value) == (
            "“high” is not a frequency; write one such as 315 or 433.92 MHz."
        )


class TestBand:
    @pytest.mark.parametrize(
        ("label", "name"),
        [
            ("314.9", "315"),
            (315, "315"),
            (433, "433"),
            (433.92, "433"),
            ("434 MHz", "433"),
            ("2.4 GHz", "other"),
            (868, "other"),
            (434.8, "other"),
        ],
    )
    def test_names_one_band(self, label, name):
        assert band(label) == name


class TestSameBand:
    def test_labels_of_one_band(self):
        assert same_band(433.92, 434)
        assert same_band("314.9 MHz", 315)

    def test_315_never_matches_433(self):
        assert not same_band(315, 433.92)

    def test_other_bands_match_only_themselves(self):
        assert same_band("2.4 GHz", 2400)
        assert not same_band("2.4 GHz", 868)
