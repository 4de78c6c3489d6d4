"""Laws of the intake on random messy tables: nothing is lost, order plays no part, final outweighs preliminary."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from intake_help import read_text

HEADER = (
    "ACC_NO",
    "MRN",
    "DOB",
    "LOC",
    "COLL_DT",
    "RECV_DT",
    "BOTTLE",
    "COLLECTOR",
    "STATUS",
    "RESULT",
    "SPECIMEN TYPE",
)
RESULTS = ("NG 5D", "CNS", "E.coli", "GPC CLUSTERS", "Staphylococcus aureus", "CANCELLED", "", "xyzzy", "No growth")
MESSY = st.tuples(
    st.sampled_from(["1", "2", "3", "007", "", "2.50E+10", "=A1"]),
    st.sampled_from(["71", "72", "", "7.00E+11"]),
    st.sampled_from(["1957-04-09", "1900-01-01", "", "unknown"]),
    st.sampled_from(["ED", "5 WEST", "5  west ", ""]),
    st.sampled_from(["2025-11-01 22:10", "2025-11-02 01:30", "2025-11-02", "", "31/31/2025", "2025-11-05 09:00"]),
    st.sampled_from(["2025-11-01 22:40", "2025-11-02 01:10", ""]),
    st.sampled_from(["AER", "ANA", "PED", "AER 2", "?", ""]),
    st.sampled_from(["JM", "LAB", "7731", ""]),
    st.sampled_from(["P", "F", "C", "X", "R?", ""]),
    st.sampled_from(RESULTS),
    st.sampled_from(["BLOOD CULTURE", "URINE", ""]),
)


def write(rows, separator=","):
    return "\n".join(separator.join(row) for row in (HEADER, *rows)) + "\n"


def everything(read):
    """The tables as sets of rows, whatever numbers tie them together."""
    sets = "select * exclude (row_set) from new_sets order by all"
    bottles = "select accession, b.* exclude (row_set) from new_bottles b join new_sets using (row_set) order by all"
    isolates = "select accession, i.* exclude (row_set) from new_isolates i join new_sets using (row_set) order by all"
    return [read.session.rows(query) for query in (sets, bottles, isolates)]


def read_rows(rows, look):
    with tempfile.TemporaryDirectory() as folder, read_text(Path(folder), write(rows)) as read:
        return look(read)


@settings(max_examples=10)
@given(st.lists(MESSY, min_size=1, max_size=30))
def test_every_row_becomes_a_set_or_a_loss_with_a_reason(rows):
    def look(read):
        account = read.intake.reconciliation
        assert account.rows == account.sets + sum(tally.count for tally in account.losses) == len(rows)
        assert [row for row, _fate in read.fates()] == list(range(2, len(rows) + 2))
        assert all(fate for _row, fate in read.fates())
        (valid,) = read.session.one("select count(*) from new_sets where status in ('final', 'preliminary')")
        assert valid == account.sets
        (twice,) = read.session.one(
            "select count(*) from (select accession from new_sets group by 1 having count(*) > 1)"
        )
        assert twice == 0

    read_rows(
        [("9", "79", "1957-04-09", "ED", "2025-11-01 08:00", "", "AER", "", "F", "CNS", "BLOOD CULTURE"), *rows][1:],
        look,
    )


def draw_rows(accession, kinds, results, statuses):
    """The rows of one draw, which agree about the draw itself."""
    draw = (f"7{accession}", "1957-04-09", "ED", f"2025-11-0{1 + accession % 9} 09:{accession:02d}", "")
    return [
        (str(accession), *draw, kind, "JM", status, result, "BLOOD CULTURE")
        for kind, result, status in zip(kinds, results, statuses, strict=True)
    ]


@st.composite
def coherent_tables(draw):
    rows = []
    for accession in range(1, draw(st.integers(1, 6)) + 1):
        kinds = ["AER", "ANA"][: draw(st.integers(1, 2))]
        results = draw(st.lists(st.sampled_from(RESULTS), min_size=len(kinds), max_size=len(kinds)))
        statuses = draw(st.lists(st.sampled_from(["P", "F", "C"]), min_size=len(kinds), max_size=len(kinds)))
        rows += draw_rows(accession, kinds, results, statuses)
    return rows


@settings(max_examples=8)
@given(coherent_tables(), st.randoms(use_true_random=False))
def test_the_order_of_rows_plays_no_part(rows, random):
    shuffled = rows[:]
    random.shuffle(shuffled)
    assert read_rows(shuffled, everything) == read_rows(rows, everything)


@settings(max_examples=8)
@given(coherent_tables(), st.sampled_from(RESULTS))
def test_a_preliminary_row_before_the_final_one_changes_nothing(rows, result):
    final = [(*row[:8], "F", *row[9:]) for row in rows]
    preliminary = [(*row[:8], "P", result, row[10]) for row in final]
    assert read_rows(preliminary + final, everything) == read_rows(final, everything)


@settings(max_examples=6)
@given(coherent_tables())
def test_the_same_file_twice_over_gives_the_same_sets(rows):
    assert read_rows(rows + rows, everything) == read_rows(rows, everything)
