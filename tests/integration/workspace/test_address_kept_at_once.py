"""Several first openings of one workspace on a server may all keep its address: each does, and none stumbles."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

from cubital.workspace.records_address import SETTING, keep_address, parse_address

TOGETHER = 4


def test_an_address_kept_by_several_at_once_is_whole_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    address = parse_address("postgresql://cubital@db.vellorin.example/quality", where="a test")
    barrier = Barrier(TOGETHER)

    def keep(_number: int) -> None:
        barrier.wait(timeout=20)
        keep_address(tmp_path, address)

    with ThreadPoolExecutor(TOGETHER) as pool:
        for _round in range(20):
            list(pool.map(keep, range(TOGETHER)))
            assert [path.name for path in tmp_path.iterdir()] == [SETTING]
    assert address.words() in (tmp_path / SETTING).read_text(encoding="utf-8")
