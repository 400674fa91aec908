import subprocess
import sys

from nervure.engine import cache


def test_importing_the_engine_loads_no_compiler():
    code = "import sys, nervure.engine; sys.exit('numba' in sys.modules)"

    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_entries_of_other_sources_are_removed(tmp_path):
    (tmp_path / cache.STAMP).write_text("other sources", "ascii")
    kept = [tmp_path / "kernel.play_block-1.py311.nbi", tmp_path / "kernel.play_block-1.1.nbc"]
    foreign = tmp_path / "other.work-1.nbi"
    for file in (*kept, foreign):
        file.write_bytes(b"")

    assert not cache._is_fresh(tmp_path, "kernel.play_block")
    assert not any(file.exists() for file in kept)
    assert foreign.exists()
    assert (tmp_path / cache.STAMP).read_text("ascii") == cache.source_stamp()


def test_entries_of_these_sources_are_kept(tmp_path):
    (tmp_path / cache.STAMP).write_text(cache.source_stamp(), "ascii")
    kept = tmp_path / "kernel.play_block-1.py311.nbi"
    kept.write_bytes(b"")

    assert cache._is_fresh(tmp_path, "kernel.play_block")
    assert kept.exists()
