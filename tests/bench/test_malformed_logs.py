"""Logs as loggers, spreadsheets and dying batteries leave them: one clear error or a named repair.

What is expected of each stands in its own text: the rows are written here, with what spoils them.
"""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from fem_motor.bench import BenchLog, read_log
from fem_motor.errors import InputError

ROWS = 120
HEAD = "time [s],thrust [gf],speed [rpm],voltage [V],current [A]"
RPM = 2 * np.pi / 60


def row(number: int) -> str:
    """Return a row of a motor that turns at 3000 rpm, ten in a second; no two are alike."""
    wiggle = 0.37 * (number * 7 % 11)
    electric = f"{12 + wiggle / 100:.4f},{5 + wiggle / 50:.4f}"
    return f"{number / 10:.1f},{500 + wiggle:.2f},{3000 + wiggle:.2f},{electric}"


def text(*, head: str = HEAD, change: Callable[[list[str]], object] = len) -> str:
    """Return a log with a change made to the list of its rows."""
    rows = [row(number) for number in range(ROWS)]
    change(rows)
    return "\n".join((head, *rows)) + "\n"


def read(tmp_path: Path, content: str | bytes) -> BenchLog:
    path = tmp_path / "log.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    log = read_log(path)
    assert log.rows_read == log.rows_used + sum(entry.rows for entry in log.dropped)
    assert log.rows_used == len(log.time)
    assert np.all(np.diff(log.time) > 0)
    return log


def refusal(tmp_path: Path, content: str | bytes) -> str:
    with pytest.raises(InputError) as caught:
        read(tmp_path, content)
    assert "do:" in str(caught.value)
    return str(caught.value)


def dropped(log: BenchLog) -> dict[str, int]:
    return {entry.reason: entry.rows for entry in log.dropped}


def blanked(log: BenchLog) -> dict[str, int]:
    return {entry.reason: entry.rows for entry in log.blanked}


def test_a_whole_log_loses_nothing(tmp_path: Path) -> None:
    log = read(tmp_path, text())
    assert (log.rows_read, log.dropped, log.blanked) == (ROWS, (), ())
    assert np.median(log.channels["speed"]) == pytest.approx(3001.85 * RPM, rel=1e-3)
    assert np.median(log.channels["thrust"]) == pytest.approx(0.50185 * 9.80665, rel=1e-2)


def test_an_empty_file_is_told(tmp_path: Path) -> None:
    assert "is empty" in refusal(tmp_path, "")
    assert "is empty" in refusal(tmp_path, b"\0" * 500)


def test_headings_without_rows_are_told(tmp_path: Path) -> None:
    assert "no rows of numbers" in refusal(tmp_path, HEAD + "\n")


def test_a_spreadsheet_is_not_taken_for_text(tmp_path: Path) -> None:
    assert "export it as CSV" in refusal(tmp_path, b"PK\x03\x04" + bytes(range(256)) * 20)


def test_prose_is_no_log(tmp_path: Path) -> None:
    assert "no rows of numbers" in refusal(tmp_path, "Dear diary,\ntoday it flew.\n" * 40)


def test_a_missing_file_and_a_folder_are_told(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be read as a log"):
        read_log(tmp_path / "gone.csv")
    with pytest.raises(InputError, match="it is a folder"):
        read_log(tmp_path)


def test_a_byte_order_mark_does_not_hide_the_first_heading(tmp_path: Path) -> None:
    log = read(tmp_path, b"\xef\xbb\xbf" + text().encode())
    assert log.columns[0].channel == "time"


@pytest.mark.parametrize("encoding", ["utf-16", "cp1252", "utf-8"])
def test_any_usual_encoding_is_read(tmp_path: Path, encoding: str) -> None:
    head = HEAD.replace("speed [rpm]", "speed [rpm]").replace("current [A]", "temp winding [°C]")
    log = read(tmp_path, text(head=head).encode(encoding))
    assert log.rows_used == ROWS
    assert np.median(log.channels["winding_C"]) == pytest.approx(5.04, abs=0.1)


def test_decimal_commas_between_semicolons_are_numbers(tmp_path: Path) -> None:
    log = read(tmp_path, text().replace(",", ";").replace(".", ","))
    assert np.median(log.channels["voltage"]) == pytest.approx(12.0185, rel=1e-3)


def test_decimal_commas_between_commas_are_refused(tmp_path: Path) -> None:
    assert "headings above rows of" in refusal(
        tmp_path, text().replace(".", ",").replace(",0,", ",00,")
    )


def test_quoted_decimal_commas_between_commas_are_numbers(tmp_path: Path) -> None:
    rows = ",".join(HEAD.split(",")) + "\n"
    rows += "\n".join(
        ",".join(f'"{cell.replace(".", ",")}"' for cell in row(number).split(","))
        for number in range(ROWS)
    )
    log = read(tmp_path, rows)
    assert np.median(log.channels["voltage"]) == pytest.approx(12.0185, rel=1e-3)


def test_tabs_blanks_and_bars_part_columns_as_well(tmp_path: Path) -> None:
    for delimiter in ("\t", "|"):
        assert read(tmp_path, text().replace(",", delimiter)).rows_used == ROWS
    plain = text(head="t_s thrust_gf speed_rpm voltage_V current_A").replace(",", "   ")
    assert read(tmp_path, plain).rows_used == ROWS


def test_comments_repeated_headings_and_blank_lines_are_dropped_by_name(tmp_path: Path) -> None:
    def spoil(rows: list[str]) -> None:
        rows[50:50] = ["", HEAD, "# battery changed"]

    log = read(tmp_path, "# invented\n\n" + text(change=spoil))
    assert dropped(log) == {"heading repeated": 1, "comment": 1}
    assert log.rows_used == ROWS


def test_a_row_of_units_is_read_as_units(tmp_path: Path) -> None:
    log = read(tmp_path, text(head="time,thrust,rpm,voltage,current\nms,kgf,rpm,mV,mA"))
    assert [column.unit for column in log.columns] == ["ms", "kgf", "rpm", "mV", "mA"]
    assert np.median(log.channels["voltage"]) == pytest.approx(12.0185e-3, rel=1e-3)


def test_text_at_the_end_is_dropped(tmp_path: Path) -> None:
    log = read(tmp_path, text() + "end of log\nmax thrust: 503.70\n")
    assert sum(dropped(log).values()) == 2
    assert log.rows_used == ROWS


def test_a_row_cut_off_by_a_dying_battery_loses_only_what_is_missing(tmp_path: Path) -> None:
    log = read(tmp_path, text().rstrip("\n").rsplit(",", 2)[0])
    assert log.rows_used in {ROWS, ROWS - 1}
    assert not np.isfinite(log.channels["current"][-1]) or log.rows_used == ROWS - 1


def test_nothing_after_a_power_cut_but_nulls_is_dropped(tmp_path: Path) -> None:
    log = read(tmp_path, text().encode() + b"\0" * 300 + b"\n")
    assert log.rows_used == ROWS
    assert sum(dropped(log).values()) == 1


def test_a_null_inside_a_number_does_not_shorten_it(tmp_path: Path) -> None:
    # "3000\0.50" read by C ends at the null and would be 3000.
    content = text().encode().replace(b"3000.37", b"30\x0000.37", 1)
    log = read(tmp_path, content)
    assert blanked(log) == {"speed: text instead of a number": 1}
    assert np.nanmin(log.channels["speed"]) > 2900 * RPM


def test_rows_with_more_fields_than_headings_are_dropped(tmp_path: Path) -> None:
    def spoil(rows: list[str]) -> None:
        rows[20] += ",9"
        rows[30] += ",9,9,9,9"

    log = read(tmp_path, text(change=spoil))
    assert list(dropped(log).values()) == [2]
    assert "more fields than headings" in log.dropped[0].reason


def test_words_for_no_reading_are_missing_readings(tmp_path: Path) -> None:
    def spoil(rows: list[str]) -> None:
        for number, word in enumerate(("OVL", "nan", "--", "", "NULL", "N/A", "inf")):
            cells = rows[10 * number].split(",")
            rows[10 * number] = ",".join((*cells[:4], word))

    log = read(tmp_path, text(change=spoil))
    assert log.rows_used == ROWS
    assert np.flatnonzero(np.isnan(log.channels["current"])).tolist() == [0, 10, 20, 30, 40, 50, 60]


def test_a_wrong_word_in_a_channel_is_counted(tmp_path: Path) -> None:
    log = read(tmp_path, text().replace("12.0370", "twelve", 1))
    assert blanked(log) == {"voltage: text instead of a number": 1}


def test_rows_sent_twice_are_dropped(tmp_path: Path) -> None:
    log = read(tmp_path, text(change=lambda rows: rows.insert(40, rows[39])))
    assert dropped(log) == {"time stamp as in the row before": 1}


def test_a_coarse_clock_is_spread_over_its_ticks(tmp_path: Path) -> None:
    rows = [row(number).split(",", 1)[1] for number in range(ROWS)]
    content = HEAD + "\n" + "\n".join(f"{k // 10},{cells}" for k, cells in enumerate(rows)) + "\n"
    log = read(tmp_path, content)
    assert log.rows_used == ROWS
    assert np.diff(log.time) == pytest.approx(0.1)
    assert any("coarser" in finding.why for finding in log.findings)


def test_one_stamp_out_of_order_costs_one_row(tmp_path: Path) -> None:
    for wrong in ("1.0", "500.0"):

        def spoil(rows: list[str], wrong: str = wrong) -> None:
            rows[60] = wrong + "," + rows[60].split(",", 1)[1]

        log = read(tmp_path, text(change=spoil))
        assert dropped(log) == {"time stamp out of order": 1}
        assert log.time[-1] == pytest.approx(11.9)


def test_a_clock_that_starts_again_goes_on(tmp_path: Path) -> None:
    def spoil(rows: list[str]) -> None:
        rows += [row(number) for number in range(ROWS)]

    log = read(tmp_path, text(change=spoil))
    assert log.rows_used == 2 * ROWS
    assert log.time[-1] == pytest.approx(23.9)
    assert any("goes back" in finding.why for finding in log.findings)


def test_a_microsecond_counter_of_32_bits_rolls_over(tmp_path: Path) -> None:
    ticks = (np.arange(ROWS) * 100_000 + 2**32 - 5_000_000) % 2**32
    rows = [row(number).split(",", 1)[1] for number in range(ROWS)]
    head = HEAD.replace("[s]", "[µs]")
    content = head + "\n" + "\n".join(f"{t},{r}" for t, r in zip(ticks, rows, strict=True)) + "\n"
    log = read(tmp_path, content)
    assert np.diff(log.time) == pytest.approx(0.1)


def test_time_stamps_of_the_day_pass_midnight(tmp_path: Path) -> None:
    rows = []
    for number in range(ROWS):
        seconds = (86_390 + number) % 86_400
        stamp = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}.50"
        rows.append(f"{stamp},{row(number).split(',', 1)[1]}")
    log = read(tmp_path, HEAD.replace("[s]", "") + "\n" + "\n".join(rows) + "\n")
    assert np.diff(log.time) == pytest.approx(1.0)


def test_iso_time_stamps_are_read(tmp_path: Path) -> None:
    rows = [
        f"2026-03-29T01:59:{number / 10:06.3f}+01:00,{row(number).split(',', 1)[1]}"
        for number in range(ROWS)
    ]
    log = read(tmp_path, HEAD.replace("[s]", "") + "\n" + "\n".join(rows) + "\n")
    # Seconds since 1970 are told to a quarter of a microsecond by 64 bits.
    assert np.diff(log.time) == pytest.approx(0.1, abs=3e-7)


def test_milliseconds_without_a_unit_are_told_from_seconds(tmp_path: Path) -> None:
    rows = [f"{100 * k},{row(k).split(',', 1)[1]}" for k in range(ROWS)]
    log = read(tmp_path, HEAD.replace("time [s]", "timestamp") + "\n" + "\n".join(rows) + "\n")
    assert log.time[-1] == pytest.approx(11.9)
    assert any("it is read as ms" in finding.why for finding in log.findings)


def test_a_hole_in_the_log_is_told(tmp_path: Path) -> None:
    def spoil(rows: list[str]) -> None:
        del rows[30:90]

    log = read(tmp_path, text(change=spoil))
    holes = [finding for finding in log.findings if "hole" in finding.name]
    assert holes[0].value == pytest.approx(6.1)


def test_a_column_that_is_no_clock_is_refused(tmp_path: Path) -> None:
    head = "thrust [gf],time [s],speed [rpm],voltage [V],current [A]"
    assert "is no clock" in refusal(tmp_path, text(head=head))


def test_thrust_without_a_unit_is_refused_with_all_others_at_once(tmp_path: Path) -> None:
    told = refusal(tmp_path, text(head="time,thrust,speed,voltage,current"))
    assert "column 'thrust'" in told
    assert "as thrust [N]" in told  # the symbol of the newton (ISO 80000-4), not n for nano
    assert "column 'speed'" in told
    assert "thrust [N] or thrust [gf]" in told  # as they are written: the newton has a capital


def test_a_column_left_out_for_its_unit_is_named(tmp_path: Path) -> None:
    log = read(tmp_path, text(head=HEAD.replace("[gf]", "[stone]")))
    doubt = next(one for one in log.findings if one.name == "columns left out for their unit")
    assert doubt.status == "watch"
    assert "'thrust [stone]' reads like thrust" in doubt.why
    assert not any("left out" in one.name for one in read(tmp_path, text()).findings)


def test_a_log_without_known_columns_names_its_headings(tmp_path: Path) -> None:
    told = refusal(tmp_path, text(head="a,b,c,d,e"))
    assert "'a', 'b', 'c', 'd', 'e'" in told


def test_a_quotation_mark_left_open_is_refused(tmp_path: Path) -> None:
    def spoil(rows: list[str]) -> None:
        rows[3] = '"' + rows[3]

    assert "a quotation mark is left open" in refusal(tmp_path, text(change=spoil))


def test_a_file_of_only_text_in_its_channels_is_refused(tmp_path: Path) -> None:
    rows = "\n".join(f"{k / 10},x,y,z,w" for k in range(ROWS))
    refusal(tmp_path, HEAD + "\n" + rows + "\n")


def test_headings_that_begin_like_formulas_stay_words(tmp_path: Path) -> None:
    head = HEAD.replace("current [A]", "=HYPERLINK(1)")
    log = read(tmp_path, text(head=head))
    assert log.columns[-1].how == "unused"


def test_the_largest_file_is_stated(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.write(text().encode())
        file.truncate((2 << 30) + 1)  # sparse: it takes no room
    with pytest.raises(InputError, match="the largest that is read has 2 GiB"):
        read_log(path)
