"""A job is its own files: what its names may lead to, on disk and in memory."""

import contextlib
import os
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from setwright.base.errors import InputRefused
from setwright.jobfolder.door import DiskFiles, HeldFiles, read_regular
from setwright.jobfolder.load import load_held, load_job
from tests.jobfolder.test_jobfolder_load import JOB, MACHINE, TOOL, VISE

SHOP = {"shop/machines/mill.toml": MACHINE, "shop/holding/vise.toml": VISE, "shop/tools/em10.toml": TOOL}
PROGRAM = b"%\nO1\nM30\n%\n"
OUTSIDE = ["/etc/hostname", "../secret.nc", "a/../../secret.nc", "/proc/self/environ", "~/secret.nc", "..", "C:\\secret.nc",
           "c:/secret.nc", "a\\b.nc", "x\0y"]  # fmt: skip


def _files(**changed: str) -> dict[str, bytes]:
    texts = {"job.toml": JOB, **SHOP} | changed
    return {name: text.encode() for name, text in texts.items()} | {"plate.nc": PROGRAM}


def _on_disk(root: Path, files: dict[str, bytes]) -> Path:
    for name, data in files.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_bytes(data)
    return root


def _asking_for(name: str) -> str:
    return JOB.replace('"plate.nc"', '"plate.nc", ' + (f"'{name}'" if "\\" in name else f'"{name}"').replace("\0", "\\u0000"))


@pytest.mark.parametrize("name", OUTSIDE)
@pytest.mark.parametrize("held", [False, True])
def test_a_name_that_leads_out_of_the_job_is_refused(tmp_path: Path, name: str, held: bool) -> None:
    (tmp_path / "secret.nc").write_bytes(b"the password")
    files = _files() | {"job.toml": _asking_for(name).encode()}
    with pytest.raises(InputRefused) as refused:
        load_held(files) if held else load_job(_on_disk(tmp_path / "job", files))
    assert "leads out" in str(refused.value)
    assert "job.toml" in str(refused.value)


def test_the_same_files_are_the_same_job_on_disk_and_in_memory(tmp_path: Path) -> None:
    files = _files()
    disk, held = load_job(_on_disk(tmp_path / "job", files)), load_held(files, name="job")
    assert disk.job == held.job
    assert dict(disk.digests) == dict(held.digests)
    assert disk.sources == held.sources == {"plate.nc": PROGRAM}
    assert disk.name == held.name == "job"


def _link(at: Path, to: Path) -> None:
    at.symlink_to(to)


def _linked_folder(at: Path, to: Path) -> None:
    at.parent.mkdir(exist_ok=True)
    (to.parent / "elsewhere").mkdir()
    (to.parent / "elsewhere" / "odd.nc").write_bytes(PROGRAM)
    (at.parent / "odd").symlink_to(to.parent / "elsewhere")


@pytest.mark.parametrize(
    ("name", "lay", "said"),
    [
        ("odd.nc", _link, "this is a link"),
        ("odd/odd.nc", _linked_folder, "leads out"),
        ("odd.nc", lambda at, _: os.mkfifo(at), "a pipe or a device"),
        ("odd.nc", lambda at, _: at.symlink_to("/dev/zero"), "this is a link"),
        ("odd.nc", lambda at, _: at.mkdir(), "this is a folder"),
    ],
)
def test_only_a_plain_file_inside_the_job_is_read(tmp_path: Path, name: str, lay: Callable[[Path, Path], None], said: str) -> None:
    root = _on_disk(tmp_path / "job", _files() | {"job.toml": _asking_for(name).encode()})
    other = tmp_path / "other.nc"
    other.write_bytes(PROGRAM)
    lay(root / "odd.nc", other)
    with pytest.raises(InputRefused) as refused:
        load_job(root)
    assert said in str(refused.value)


@pytest.mark.parametrize("name", ["readings.toml", "machine.toml", "shop/machines/other.toml"])
def test_a_link_that_the_job_does_not_name_is_not_followed_either(tmp_path: Path, name: str) -> None:
    root = _on_disk(tmp_path / "job", _files())
    (tmp_path / "secret.toml").write_text('format = 1\nnote = "the password"\n')
    (root / name).symlink_to(tmp_path / "secret.toml")
    with pytest.raises(InputRefused) as refused:
        load_job(root)
    assert "this is a link" in str(refused.value)
    assert "password" not in str(refused.value)


def test_a_device_ends_at_the_stated_size() -> None:
    with pytest.raises(InputRefused, match="a pipe or a device"):
        read_regular(Path("/dev/zero"), shown="odd.nc", largest=1_000)


def test_a_file_is_read_up_to_the_stated_size_whatever_it_says_of_itself(tmp_path: Path) -> None:
    (tmp_path / "long.nc").write_bytes(b"x" * 1_001)
    assert len(read_regular(tmp_path / "long.nc", shown="long.nc", largest=1_001)) == 1_001
    with pytest.raises(InputRefused, match="larger than 1,000 bytes"):
        read_regular(tmp_path / "long.nc", shown="long.nc", largest=1_000)
    with pytest.raises(InputRefused):  # its size is told as 0
        read_regular(Path("/proc/self/smaps"), shown="smaps", largest=10)


def test_the_declared_shop_folder_may_lie_beside_the_job(tmp_path: Path) -> None:
    job = JOB.replace("format = 1", 'format = 1\nshop_folder = "../shop"')
    files = {f"job/{name}": data for name, data in {"job.toml": job.encode(), "plate.nc": PROGRAM}.items()}
    files |= {name: text.encode() for name, text in SHOP.items()}
    disk, held = load_job(_on_disk(tmp_path, files) / "job"), load_held(files, home="job")
    assert disk.job == held.job
    assert set(disk.digests) == set(held.digests) == {"job.toml", "plate.nc", *(f"../{name}" for name in SHOP)}


@pytest.mark.parametrize("shop", ["/etc", "../../shop", ".."])
def test_files_in_memory_have_no_shop_elsewhere(shop: str) -> None:
    job = JOB.replace("format = 1", f'format = 1\nshop_folder = "{shop}"')
    with pytest.raises(InputRefused, match="leads out of what is kept"):
        load_held(_files() | {"job.toml": job.encode()})


def test_a_program_cannot_be_named_through_the_shop_folder_to_get_out(tmp_path: Path) -> None:
    (tmp_path / "secret.nc").write_bytes(PROGRAM)
    files = _files() | {"job.toml": _asking_for("shop/../../secret.nc").encode()}
    with pytest.raises(InputRefused, match="leads out"):
        load_job(_on_disk(tmp_path / "job", files))
    with pytest.raises(InputRefused, match="leads out"):
        HeldFiles(files).read("shop/../../secret.nc", largest=100)
    with pytest.raises(InputRefused, match="leads out"):
        DiskFiles(tmp_path / "job").read("shop/../../secret.nc", largest=100)


def test_a_folder_that_becomes_a_link_after_its_name_was_judged_is_not_gone_into(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "a.nc").write_bytes(b"the password")
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "sub").symlink_to(tmp_path / "elsewhere")  # put there in between
    with pytest.raises(InputRefused) as refused:
        read_regular(tmp_path / "job" / "sub" / "a.nc", shown="sub/a.nc", largest=1_000, within=tmp_path / "job")
    assert "password" not in str(refused.value)


def test_a_folder_exchanged_for_a_link_again_and_again_never_gives_what_lies_outside(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "a.nc").write_bytes(b"the password")
    sub, aside = tmp_path / "job" / "sub", tmp_path / "job" / "aside"
    sub.mkdir(parents=True)
    (sub / "a.nc").write_bytes(PROGRAM)
    done = threading.Event()

    def exchange() -> None:
        while not done.is_set():
            sub.rename(aside)
            sub.symlink_to(tmp_path / "elsewhere")
            sub.unlink()
            aside.rename(sub)

    exchanger = threading.Thread(target=exchange)
    exchanger.start()
    files, seen = DiskFiles(tmp_path / "job"), set()
    try:
        for _ in range(4_000):
            with contextlib.suppress(InputRefused):
                seen.add(files.read("sub/a.nc", largest=1_000))
    finally:
        done.set()
        exchanger.join()
    assert seen == {PROGRAM}


def test_a_folder_of_the_shop_that_is_a_link_out_of_it_is_refused(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "secret.toml").write_text("format = 1\n")
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "machines").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(InputRefused, match="leads out"):
        DiskFiles(tmp_path / "job").listed("machines", ending=".toml")
