"""However a file is cut into stretches while it is read, and however little memory there is, the same comes out."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from cubital.domain.places import SourceMemory
from cubital.engine import open_session
from cubital.intake.doubtful_names import read_doubtful_names
from cubital.intake.reading import read_cultures
from intake_help import MARROWBY, SECRET

HEADER = "ACC_NO,MRN,DOB,LOC,COLL_DT,RECV_DT,BOTTLE,COLLECTOR,STATUS,RESULT,SPECIMEN TYPE,ISOLATE NO"
TABLES = ("new_sets", "new_bottles", "new_isolates", "row_fates", "row_doubts")
ROW = st.tuples(
    st.sampled_from(["1", "2", "3", "3 ", "007", "", "2.50E+10", "=A1", '="009"']),
    st.sampled_from(["71", "72", "", "7.00E+11"]),
    st.sampled_from(["1957-04-09", "1900-01-01", "", "2031-01-01"]),
    st.sampled_from(["ED", "5 WEST", "5  west ", ""]),
    # The second of November 2025 had the hour from one to two twice in Chicago.
    st.sampled_from(["2025-11-01 22:10", "2025-11-02 01:30", "2025-11-02 01:45", "2025-11-02", "", "2025-03-09 02:30"]),
    st.sampled_from(["2025-11-01 22:40", "2025-11-02 01:10", "2025-11-02 03:00", ""]),
    st.sampled_from(["AER", "ANA", "?", ""]),
    st.sampled_from(["JM", "LAB", ""]),
    st.sampled_from(["P", "F", "C", "X", "R?", ""]),
    st.sampled_from(["NG 5D", "CNS", "E.coli", "Staph aureusss", "CANCELLED", "", "xyzzy", "GPC CLUSTERS"]),
    st.sampled_from(["BLOOD CULTURE", "URINE", ""]),
    st.sampled_from(["1", "2", ""]),
)


def read(path, *, rows_at_once, memory="1GB", tables=TABLES):
    """The account, every row of every table, and the names to confirm."""
    with open_session(memory=memory) as session:
        intake = read_cultures(
            session,
            path,
            facility=MARROWBY,
            secret=SECRET,
            memory=SourceMemory(columns={}, answers={}, organisms={}),
            accept=True,
            progress=lambda _sentence, _share: None,
            rows_at_once=rows_at_once,
        )
        found = {table: session.rows(f"select * from {table} order by all") for table in tables}
        return intake.reconciliation, found, read_doubtful_names(session)


def write(path, rows):
    """Every row and, only after all of them, the other bottle of each: no stretch holds the whole of any set."""
    first = ("9", "79", "1957-04-09", "ED", "2025-11-01 08:00", "", "AER", "", "F", "CNS", "BLOOD CULTURE", "")
    others = [(*row[:6], "ANA", *row[7:]) for row in (first, *rows)]
    path.write_text("\n".join([HEADER, *(",".join(row) for row in (first, *rows, *others))]) + "\n")
    return 2 + 2 * len(rows)


@settings(max_examples=6)
@given(st.lists(ROW, min_size=4, max_size=8), st.integers(1, 4))
def test_a_file_read_in_stretches_of_any_length_gives_the_same_tables_and_fates(rows, rows_at_once):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "laboratory.csv"
        many = write(path, rows)
        whole = read(path, rows_at_once=1000)
        assert read(path, rows_at_once=rows_at_once) == whole
        account = whole[0]
        assert account.rows == account.sets + sum(tally.count for tally in account.losses) == many
