import pytest
from command_line import TINY


@pytest.fixture
def yard(tmp_path, monkeypatch):
    """An empty folder to stand in, with a tiny site file tiny.toml."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tiny.toml").write_text(TINY)
    return tmp_path
