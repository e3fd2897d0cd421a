"""What the report advises: logs with one known trouble each, and a log in which all is well."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from growcells_workbooks.reading import Reading, read_log
from growcells_workbooks.report import build_report
from growcells_workbooks.report.advice import actions
from growcells_workbooks.report.advice.action import Action, Urgency
from growcells_workbooks.report.advice.noted_trouble import troubles_in
from growcells_workbooks.report.figures import figures_of
from growcells_workbooks.report.figures.iso_week import week_of
from growcells_workbooks.report.figures.trends import days_between_visits, drop_per_day, trend
from growcells_workbooks.report.pages.week_page import ALL_KNOWN, WELL
from report_books import report_book, row_of, texts_of
from us_units import LITRES_IN_GALLON

SUNDAY = datetime.date(2026, 11, 22)
VISITS = [SUNDAY - datetime.timedelta(days=back) for back in (20, 18, 16, 13, 11, 9, 6, 4, 2, 0)]
WOBBLE = (0.0, 0.1, -0.1, 0.05, -0.05, 0.1, 0.0, -0.1, 0.1, 0.0)
"""What readings scatter by where nothing happens; it has no trend (least squares: 0.0002 a day, error 0.004)."""
CALCIUM_NITRATE = 236.15 / 40.078  # IUPAC atomic weights: Ca(NO3)2.4H2O to Ca
EPSOM_SALT = 246.47 / 24.305  # IUPAC atomic weights: MgSO4.7H2O to Mg
NITROGEN = 2 * 14.007 / 40.078  # IUPAC atomic weights: N to Ca in Ca(NO3)2


@dataclass
class Log:
    """A log of one bed of 100 gal, 10 in deep, fed at 2 g/gal: all is well until a test changes something."""

    analysis: str = "10-9-19 Ca 6 Mg 2"
    on_hand: float | None = 3000
    use: float | None = 60
    lead: float | None = 2
    lead_unit: str = "week"
    counted: datetime.date | None = SUNDAY
    scale: float | None = 1
    lowest: float | None = 5
    water_ec: float | None = 0.2
    dose: float = 200
    bands: tuple[float | None, ...] = (5.5, 6.5, 1.2, 2.0, 60, 75)
    ph: Callable[[int], float] = lambda place: 6 + WOBBLE[place]
    ec: Callable[[int], float] = lambda place: 1.6 + WOBBLE[place]
    temperature: Callable[[int], float] = lambda place: 68 + 10 * WOBBLE[place]
    depth: Callable[[int], float | None] = lambda place: 9.5 if place % 2 else 10
    added: Callable[[int], float | None] = lambda place: 5 if place % 2 else None
    days: Sequence[datetime.date] = field(default_factory=lambda: VISITS)
    as_of: datetime.date = SUNDAY

    def write(self, folder: Path) -> Path:
        """The log as a workbook."""
        book = Workbook()
        assert book.active is not None
        book.remove(book.active)
        beds, targets, feeds, diary = (book.create_sheet(name) for name in ("Beds", "Targets", "Feeds", "Readings"))
        beds.append(["Bed", "Crop", "Feed", "Water depth in", "Volume gal", "Dose g", "Planted", "Rate g/gal"])
        planted = min(self.days) if self.days else None
        beds.append(["Raft", "lettuce", "leaf", 10, 100, self.dose, planted, self.dose / 100])
        heads = ["pH low", "pH high", "EC low mS/cm", "EC high mS/cm", "Temp low °F", "Temp high °F"]
        targets.append(["Bed", *heads, "Lowest water in", "Source water EC mS/cm"])
        targets.append(["Raft", *self.bands, self.lowest, self.water_ec])
        order = f"Order takes {self.lead_unit}"
        feeds.append(["Feed", "Analysis", "g/gal", "On hand g", "Counted on", "Use a week g", order, "Scale g"])
        feeds.append(["leaf", self.analysis, 2, self.on_hand, self.counted, self.use, self.lead, self.scale])
        diary.append(["Date", "Bed", "pH", "EC mS/cm", "water °F", "Depth now in", "Water added gal"])
        for place, day in enumerate(self.days):
            values = [read(place) for read in (self.ph, self.ec, self.temperature, self.depth, self.added)]
            diary.append([day, "Raft", *values])
        path = folder / "log.xlsx"
        book.save(path)
        return path

    def actions(self, folder: Path) -> list[Action]:
        """What the report advises."""
        log = read_log(self.write(folder), self.as_of)
        return actions(figures_of(log, week_of(self.as_of), self.as_of, "Leafy greens"))

    def action(self, folder: Path, topic: str) -> Action:
        """The only action of the report, which must be on this topic."""
        found = self.actions(folder)
        assert [action.topic for action in found] == [topic], found
        return found[0]


def test_nothing_where_all_is_well(tmp_path: Path) -> None:
    assert Log().actions(tmp_path) == []


def test_the_first_page_says_that_all_is_well(tmp_path: Path) -> None:
    made = build_report(Log().write(tmp_path), tmp_path / "week.xlsx", as_of=SUNDAY)
    texts = texts_of(report_book(made.output), "Week")
    assert WELL in texts and ALL_KNOWN in texts


@pytest.mark.parametrize(
    ("bands", "usual"),
    [(("about", 6.5), False), ((5.5, "about"), False), ((6.5, 5.5), True), (("about", "about"), True)],
)
def test_nothing_is_well_beside_a_band_that_could_not_be_read(
    tmp_path: Path, bands: tuple[Any, Any], usual: bool
) -> None:
    log = Log(bands=(*bands, 1.2, 2.0, 60, 75)).write(tmp_path)
    texts = texts_of(report_book(build_report(log, tmp_path / "week.xlsx", as_of=SUNDAY).output), "Week")
    assert WELL not in texts
    assert "Whether Raft is well is not known: the band of pH in the log could not be read." in texts
    assert "The band of pH could not be read: Raft." in texts
    note = "* The log gives no band here that could be read, so the usual one of the crop is shown."
    assert (note in texts) == usual and not any("gives no band here," in text for text in texts)


class TestPh:
    def test_above_the_band(self, tmp_path: Path) -> None:
        action = Log(ph=lambda place: 6.9 if place > 7 else 6.2).action(tmp_path, "ph")
        assert action.urgency is Urgency.TODAY
        assert "lower the pH to 6 with acid" in action.what
        assert "pH 6.9 on 22 Nov is above 6.5, as were 2 of 4 readings in the week" in action.why
        assert "goggles" in action.why

    def test_below_the_band(self, tmp_path: Path) -> None:
        action = Log(ph=lambda place: 5.2 if place == 9 else 6).action(tmp_path, "ph")
        assert "raise the pH to 6" in action.what and "below 5.5" in action.why
        assert "acid" not in action.what

    def test_drifting_out_of_the_band(self, tmp_path: Path) -> None:
        # 0.05 a day: 6.4 now, 6.75 in a week
        action = Log(ph=lambda place: 6.4 - 0.05 * (SUNDAY - VISITS[place]).days).action(tmp_path, "ph")
        assert action.urgency is Urgency.THIS_WEEK
        assert "pH was 6.4 on 22 Nov and rises by 0.35 a week" in action.why

    def test_drifting_within_the_band(self, tmp_path: Path) -> None:
        assert Log(ph=lambda place: 5.8 - 0.02 * (SUNDAY - VISITS[place]).days).actions(tmp_path) == []

    def test_a_usual_band_is_less_urgent(self, tmp_path: Path) -> None:
        log = Log(ph=lambda place: 6.9, bands=(None, None, 1.2, 2.0, 60, 75))
        action = log.action(tmp_path, "ph")
        assert action.urgency is Urgency.THIS_WEEK and "above the usual 6.5" in action.why


class TestEc:
    def test_above_the_band_since_water_is_lost(self, tmp_path: Path) -> None:
        # 80 gal at 2.2 and 20 gal at 0.2 are 100 gal at 1.8
        log = Log(ec=lambda place: 2.2 if place == 9 else 1.6, depth=lambda place: 8 if place == 9 else 10)
        action = log.action(tmp_path, "ec")
        assert action.urgency is Urgency.TODAY
        assert action.what == "Top up with 20 gal of plain water, no feed."
        assert "EC 2.2 mS/cm on 22 Nov is above 2 mS/cm" in action.why
        assert "the water stands at 8 of 10 in: filled up with plain water it comes to about 1.8 mS/cm" in action.why

    def test_too_strong_for_water_alone(self, tmp_path: Path) -> None:
        # Full at 2.6: 100 × (2.6 − 1.6) ÷ (2.6 − 0.2) gal replaced
        log = Log(ec=lambda place: 2.6 if place == 9 else 1.6, depth=lambda place: 10)
        assert log.action(tmp_path, "ec").what == "Replace 41.7 gal of solution by plain water, for 1.6 mS/cm."

    def test_rising(self, tmp_path: Path) -> None:
        log = Log(
            ec=lambda place: 1.9 - 0.03 * (SUNDAY - VISITS[place]).days,
            depth=lambda place: 10 - 0.1 * (VISITS[place] - VISITS[0]).days,
            lowest=3,
        )
        action = log.action(tmp_path, "ec")
        assert action.urgency is Urgency.THIS_WEEK
        assert "rises by 0.21 mS/cm a week" in action.why
        # Plain water makes 1.9 × 0.8 + 0.2 × 0.2 = 1.56 of it; 1.3 at 2 g/gal first: (160 − 152 − 4) × 2 ÷ 1.1 g
        assert (
            "filled up with plain water it comes to about 1.56 mS/cm. The feed is worked out from EC 1.30 mS/cm"
            in action.why
        )
        assert action.what == "Top up with 20 gal of water and 7.27 g of leaf, for 1.6 mS/cm."

    def test_below_the_band(self, tmp_path: Path) -> None:
        # First reading 1.7 at 2 g/gal from water of 0.2: 2 ÷ 1.5 g/gal for 1 mS/cm.
        # (100 × 1.6 − 80 × 1 − 20 × 0.2) × 2 ÷ 1.5 = 101.3 g
        log = Log(
            ec=lambda place: 1.7 if place == 0 else 1.0 if place == 9 else 1.5,
            depth=lambda place: 8 if place == 9 else 10,
        )
        action = log.action(tmp_path, "ec")
        assert action.what == "Top up with 20 gal of water and 101 g of leaf, for 1.6 mS/cm."
        assert "EC 1 mS/cm on 22 Nov is below 1.2 mS/cm" in action.why
        assert "worked out from EC 1.70 mS/cm on 2 Nov" in action.why

    def test_falling(self, tmp_path: Path) -> None:
        action = Log(ec=lambda place: 1.3 + 0.03 * (SUNDAY - VISITS[place]).days, depth=lambda place: 10).action(
            tmp_path, "ec"
        )
        assert action.urgency is Urgency.THIS_WEEK
        # (100 × 1.6 − 100 × 1.3) × 2 ÷ (1.9 − 0.2) = 35.3 g
        assert action.what == "Top up with 35.3 g of leaf, for 1.6 mS/cm."
        assert "EC was 1.3 mS/cm on 22 Nov and falls by 0.21 mS/cm a week" in action.why

    def test_no_band_no_advice(self, tmp_path: Path) -> None:
        # A crop of which nothing is known, and no band in the log.
        path = Log(ec=lambda place: 5.0, bands=(5.5, 6.5, None, None, 60, 75)).write(tmp_path)
        book = report_book(path)
        book["Beds"]["B2"] = "a fern"
        book.save(path)
        assert actions(figures_of(read_log(path), week_of(SUNDAY), SUNDAY, "Leafy greens")) == []


@pytest.mark.parametrize(
    ("reads", "value", "told"), [("ec", 15, "15 mS/cm"), ("ph", 12, "12 "), ("temperature", 140, "140 °F")]
)
def test_no_dose_rests_on_a_reading_that_is_hardly_possible(
    tmp_path: Path, reads: str, value: float, told: str
) -> None:
    usual = getattr(Log(), reads)
    action = Log(**{reads: lambda place: value if place == 9 else usual(place)}).action(tmp_path, reads)
    assert action.what.startswith("Measure the") and f"{told.strip()} on 22 Nov is hardly possible" in action.why
    assert action.urgency is Urgency.TODAY


class TestWater:
    def test_below_the_pots_before_the_next_visit(self, tmp_path: Path) -> None:
        # From 10 in on 9 Nov 0.3 in a day: 6.1 in on 22 Nov. To 5.6 in they last 1.67 days, to 5.4 in 2.33; visits
        # come every 2 days. From 6.1 to 10 in of 100 gal are 39 gal.
        def depth(place: int) -> float:
            return 10 - 0.3 * max((VISITS[place] - VISITS[3]).days, 0)

        log = Log(depth=depth, added=lambda place: None, lowest=5.6)
        soon = log.action(tmp_path, "water")
        assert soon.urgency is Urgency.THIS_WEEK
        assert (soon.what, soon.when) == ("Top up with 39 gal of water, through an air gap.", "by 23 Nov")
        assert "falls by 0.3 in a day (by the depths read): it reaches 5.6 in in 1.67 days" in soon.why
        log.lowest = 5.4
        assert log.actions(tmp_path) == []

    def test_the_fall_by_the_water_added(self, tmp_path: Path) -> None:
        # 100 gal stand 10 in deep; 5 gal every visit are 35 gal in the 13 days of 7 visits: 0.269 in a day
        log = Log(depth=lambda place: 5.5, added=lambda place: 5, lowest=5)
        assert "falls by 0.269 in a day (by the water added)" in log.action(tmp_path, "water").why

    def test_below_the_pots_now(self, tmp_path: Path) -> None:
        action = Log(depth=lambda place: 4.8 if place == 9 else 10, lowest=5).action(tmp_path, "water")
        assert action.urgency is Urgency.TODAY
        assert "stood at 4.8 in on 22 Nov, not above the 5 in at which pots hang dry" in action.why


class TestTemperature:
    @pytest.mark.parametrize(("value", "told"), [(80, "above 75 °F"), (52, "below 60 °F")])
    def test_out_of_the_band(self, tmp_path: Path, value: float, told: str) -> None:
        assert told in Log(temperature=lambda place: value).action(tmp_path, "temperature").why


class TestFeeds:
    def test_runs_out(self, tmp_path: Path) -> None:
        # 100 g at 60 g a week are 1.67 weeks; an order takes 2
        action = Log(on_hand=100, dose=50).action(tmp_path, "stock")
        assert action.urgency is Urgency.TODAY
        assert (action.what, action.when) == ("Order leaf.", "today")
        assert "100 g on hand last 1.67 weeks at 60 g a week (by the log), and an order takes 2 weeks." in action.why

    @pytest.mark.parametrize(
        ("lead", "said"),
        [(14, "an order takes 2 weeks."), (None, "an order usually takes 2 weeks; the log does not say")],
    )
    def test_a_log_that_counts_delivery_in_days(self, tmp_path: Path, lead: float | None, said: str) -> None:
        action = Log(on_hand=100, dose=50, lead=lead, lead_unit="day").action(tmp_path, "stock")
        assert (action.what, action.when) == ("Order leaf.", "today") and said in action.why

    def test_to_order_in_the_week(self, tmp_path: Path) -> None:
        action = Log(on_hand=150, dose=50).action(tmp_path, "stock")  # (150 ÷ 60 − 2) × 7 = 3.5 days
        assert (action.urgency, action.what, action.when) == (Urgency.THIS_WEEK, "Order leaf.", "by 25 Nov")

    def test_less_than_a_fill(self, tmp_path: Path) -> None:
        action = Log(on_hand=150, use=1).action(tmp_path, "stock")
        assert "150 g on hand are less than the 200 g that one fill of Raft takes" in action.why

    def test_a_use_next_to_nothing(self, tmp_path: Path) -> None:
        assert Log(on_hand=1e6, use=1e-306).actions(tmp_path) == []  # it lasts for more weeks than there are numbers

    def test_a_scale_too_coarse(self, tmp_path: Path) -> None:
        # Half of 10 g in 200 g is 2.5 %; half of 10 g is 2 % of 250 g, which is 125 gal at 2 g/gal
        action = Log(scale=10).action(tmp_path, "scale")
        assert "may be off by 2.5 % in the 200 g for Raft; up to 2 % is good enough" in action.why
        assert "dissolve the feed for 125 gal" in action.what

    def test_a_scale_fine_enough(self, tmp_path: Path) -> None:
        assert Log(scale=8).actions(tmp_path) == []  # 4 g in 200 g are 2 %

    def test_calcium_and_magnesium_absent(self, tmp_path: Path) -> None:
        action = Log(analysis="17-7-21").action(tmp_path, "analysis")
        assert action.urgency is Urgency.NEXT_MIX
        calcium, magnesium = (
            ppm * LITRES_IN_GALLON / 1000 * salt for ppm, salt in ((90, CALCIUM_NITRATE), (24, EPSOM_SALT))
        )
        assert (
            f"90 ppm Ca ({calcium:.3g} g of calcium nitrate in 1 gal, which brings {90 * NITROGEN:.3g} ppm N)"
            in action.why
        )
        assert f"24 ppm Mg ({magnesium:.3g} g of Epsom salt in 1 gal)" in action.why

    def test_magnesium_alone_absent(self, tmp_path: Path) -> None:
        action = Log(analysis="10-9-19 Ca 6").action(tmp_path, "analysis")
        assert "lists no Mg:" in action.why and "calcium" not in action.what


class TestReadingsStop:
    def test_no_reading_for_long(self, tmp_path: Path) -> None:
        action = Log(days=VISITS[:7], counted=None).action(tmp_path, "readings")  # the last on 16 Nov, every 2 days
        assert action.urgency is Urgency.TODAY
        assert "The last reading was on 16 Nov, 6 days ago; until then one came every 2 days." in action.why

    def test_no_reading_at_all(self, tmp_path: Path) -> None:
        path = Log().write(tmp_path)
        book = report_book(path)
        book["Beds"].append(["Barrel", "lettuce", "leaf", 10, 100, 200])
        book["Targets"].append(["Barrel", 5.5, 6.5, 1.2, 2, 60, 75])
        book.save(path)
        found = actions(figures_of(read_log(path), week_of(SUNDAY), SUNDAY, "Leafy greens"))
        assert [(action.about, action.topic) for action in found] == [("Barrel", "readings")]


def test_the_most_urgent_first(tmp_path: Path) -> None:
    found = Log(analysis="17-7-21", temperature=lambda place: 80, ph=lambda place: 7).actions(tmp_path)
    assert [action.topic for action in found] == ["ph", "temperature", "analysis"]


class TestCourse:
    def test_trend_of_a_line(self) -> None:
        line = trend([(SUNDAY - datetime.timedelta(days=back), 6.0 - 0.1 * back) for back in (6, 4, 2, 0)])
        assert line is not None
        assert (line.value, line.per_day, line.value_in(7)) == pytest.approx((6.0, 0.1, 6.7))
        assert line.steady(2)

    def test_error_of_a_slope(self) -> None:
        # scipy.stats.linregress of the same points gives stderr
        from scipy.stats import linregress

        points = [
            (SUNDAY - datetime.timedelta(days=back), value) for back, value in ((7, 6.1), (5, 5.9), (2, 6.3), (0, 6.0))
        ]
        line = trend(points)
        wanted = linregress([-7, -5, -2, 0], [value for _, value in points])
        assert line is not None
        assert (line.per_day, line.value, line.error) == pytest.approx((wanted.slope, wanted.intercept, wanted.stderr))

    def test_too_few_readings_have_no_trend(self) -> None:
        assert trend([(SUNDAY, 6.0)] * 5) is None
        assert trend([(SUNDAY - datetime.timedelta(days=back), 6.0) for back in (2, 1, 0)]) is None

    def test_the_water_falls_between_rows_without_added_water(self) -> None:
        def row(day: int, depth: float | None, added: Any = None) -> Reading:
            return Reading("T", datetime.date(2026, 11, day), depth=depth, water_added=added)

        rows = [row(1, 10), row(3, 9.5), row(5, 9.0, 4), row(6, 10), row(8, 9.4)]
        assert drop_per_day(rows) == pytest.approx((0.5 + 0.6) / 4)
        assert drop_per_day([row(1, 10), row(3, 9, 4), row(5, 9, 4)]) is None
        assert drop_per_day([row(1, 9), row(3, 10)]) is None

    def test_days_between_visits(self) -> None:
        days = [datetime.date(2026, 11, day) for day in (1, 1, 3, 5, 12)]
        assert days_between_visits(days) == 2
        assert days_between_visits(days[:2]) is None


def test_a_jump_of_the_ec_is_said_whatever_the_crop(tmp_path: Path) -> None:
    """From 1.6 to 2.9 mS/cm in two days, with no feed noted: somebody should measure again."""
    jump = Log(ec=lambda place: 2.9 if place == 9 else 1.6, bands=(5.5, 6.5, 1.2, 3.0, 60, 75))
    action = jump.action(tmp_path, "ec")
    assert action.urgency is Urgency.TODAY
    assert "EC went from 1.6 mS/cm to 2.9 mS/cm by 22 Nov" in action.why


@pytest.mark.parametrize(
    ("note", "kinds"),
    [
        ("two plants wilting", ["wilting"]),
        ("Leaves are Yellowing, roots brown", ["yellow leaves", "slime or rot"]),
        ("slimy roots; one dead", ["slime or rot", "dead plants"]),
        ("tip burn on the youngest leaves", ["burnt leaves"]),
        ("aphids under leaves", ["pests"]),
        ("pump off since the power cut", ["leaks and failures"]),
        ("no air in the tank", ["leaks and failures"]),
        ("no wilting, looks fine", []),
        ("roots white, without slime", []),
        ("mold gone", []),
        ("not yellow any more", []),
        ("aren’t wilting today", []),
        ("wilting: none", []),
        ("no pests, but slime", ["slime or rot"]),
        ("deadline for the market on Friday", []),
        ("planted under the yellowwood", []),
        ("topped up, thinned", []),
        ("", []),
    ],
)
def test_notes_that_speak_of_trouble(note: str, kinds: list[str]) -> None:
    assert [trouble.name for trouble in troubles_in(note)] == kinds


def test_a_note_of_the_week_reaches_the_first_page(tmp_path: Path) -> None:
    path = Log().write(tmp_path)
    book = report_book(path)
    book["Readings"]["H1"] = "Notes"
    book["Readings"]["H11"] = "half of the plants wilted"
    book["Readings"]["H3"] = "slime"  # weeks ago
    book.save(path)
    found = actions(figures_of(read_log(path), week_of(SUNDAY), SUNDAY, "Leafy greens"))
    assert [(action.topic, action.urgency) for action in found] == [("trouble", Urgency.TODAY)]
    assert "half of the plants wilted" in found[0].brief and "slime" not in found[0].why
    made = build_report(path, tmp_path / "week.xlsx", as_of=SUNDAY)
    texts = texts_of(report_book(made.output), "Week")
    assert any("half of the plants wilted" in text for text in texts)


def test_water_and_feed_of_a_bed_are_one_top_up(tmp_path: Path) -> None:
    """The water below the pots and the EC below its band: one instruction, as soon as the more urgent of the two."""
    log = Log(ec=lambda place: 1.0 if place == 9 else 1.6, depth=lambda place: 4.8 if place == 9 else 10)
    action = log.action(tmp_path, "ec")
    assert action.urgency is Urgency.TODAY
    assert action.what.startswith("Top up with 52 gal of water and ") and action.what.endswith("through an air gap.")
    assert "pots hang dry" in action.why and "below 1.2 mS/cm" in action.why


def test_less_than_a_fill_and_a_lasting_stock_are_one_order(tmp_path: Path) -> None:
    """Ordered by one day, whether for the use of a week or for the next fill; that day stands in the costs too."""
    log = Log(on_hand=150, use=1)
    action = log.action(tmp_path, "stock")
    assert (action.what, action.when) == ("Order leaf.", "by 28 Nov")
    made = build_report(log.write(tmp_path), tmp_path / "week.xlsx", as_of=SUNDAY)
    row = row_of(report_book(made.output), "Costs", "leaf")
    assert datetime.datetime(2026, 11, 28) in row
