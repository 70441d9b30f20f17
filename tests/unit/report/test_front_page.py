"""The page of a sweep, read as a browser would: by its tags, and in a browser where the machine has one."""

import os
import re
import shutil
import socket
import sqlite3
import subprocess
from html.parser import HTMLParser

import pytest
from invented_run import invented_run

from optitip.errors import Outcome, UserMistakes
from optitip.export.pictures import drawing
from optitip.report import front_page
from optitip.report.front_page import PAGE, SECONDS, KeptPage, write_page
from optitip.report.words import CAUTIONS
from optitip.search.executors.face import States
from optitip.search.run_folder import LOCK, STORE, STUDY

DESIGNS = 400
BROWSER = next((path for name in ("chromium", "google-chrome") if (path := shutil.which(name))), None)


class Page(HTMLParser):
    """The tags of a page, its words, and what its tags ask for from elsewhere."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.words, self.opened = [], [], []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in {"meta", "br"}:
            self.opened.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.opened.pop() == tag

    def handle_data(self, data):
        if "style" not in self.opened:
            self.words.append(data)

    @property
    def said(self):
        return " ".join(" ".join(self.words).split())

    def all(self, tag):
        return [attributes for name, attributes in self.tags if name == tag]


@pytest.fixture
def run(tmp_path):
    return invented_run(tmp_path / "run", designs=DESIGNS, confirmed=50)


def _page(folder):
    return Page(write_page(folder).read_text(encoding="utf-8"))


def _change(folder, statement):
    with sqlite3.connect(folder / STORE) as connection:
        connection.execute(statement)


def _hold(folder):
    holder = f'{{"host": "{socket.gethostname()}", "process": {os.getpid()}}}'
    (folder / LOCK).write_text(holder, encoding="utf-8")


def _refreshes(page):
    return [one["content"] for one in page.all("meta") if one.get("http-equiv") == "refresh"]


def test_the_page_refreshes_while_a_sweep_is_at_work_and_not_once_it_is_over(run):
    assert _refreshes(_page(run)) == []
    _hold(run)
    assert _refreshes(_page(run)) == [str(SECONDS)]
    _change(run, "UPDATE stint SET stage = 'finished', ended = 'the front has stopped growing'")
    page = _page(run)
    assert _refreshes(page) == []
    assert "The sweep has finished: the front has stopped growing." in page.said


def test_a_page_that_was_left_alone_tells_how_one_knows_and_goes_on(run):
    _hold(run)
    assert "If it is much older than that, nobody is sweeping" in _page(run).said
    (run / LOCK).unlink()
    assert "The same command goes on from here; nothing is lost." in _page(run).said


def test_every_tag_is_closed_and_nothing_is_asked_for_from_elsewhere(run):
    page = _page(run)
    assert page.opened == []
    asked = {"src", "href", "srcset", "action", "background", "poster", "data"}
    assert [one for _, attributes in page.tags for one in attributes if one in asked] == []
    assert not {"script", "link", "iframe", "img", "object", "form"} & {tag for tag, _ in page.tags}
    text = (run / PAGE).read_text(encoding="utf-8")
    assert "url(" not in text
    assert "@import" not in text


def test_what_a_study_names_is_text_on_the_page_and_no_tag(run):
    title = '<script>alert(1)</script> & <img src=x onerror="alert(2)"> {{ 7 * 7 }}'
    study = (run / STUDY).read_text(encoding="utf-8")
    _, _, rest = study.partition("\n")
    (run / STUDY).write_text(f"title = '{title}'\n{rest}", encoding="utf-8")
    page = _page(run)
    assert title in page.said
    assert page.all("script") == page.all("img") == []
    assert "<script" not in (run / PAGE).read_text(encoding="utf-8")


def test_the_page_has_the_front_with_brackets_its_cautions_and_each_failure(run):
    page = _page(run)
    assert len(page.all("svg")) == 2
    assert len(page.all("circle")) == len(page.all("title")) - 1 > 3
    assert page.all("line")
    assert "smallest margin" in page.said
    assert "to" in page.said
    for caution in CAUTIONS:
        assert caution in page.said
    assert "never safe to eat" in page.said
    assert Outcome.MESH_FOLDED.problem in page.said
    assert "few: not confirmed" in page.said


def test_no_design_without_an_answer_gets_into_a_chart(run):
    (beaten,) = [one["d"] for one in _page(run).all("path") if one["class"] == "beaten"]
    assert re.fullmatch(r"(M[\d.]+ [\d.]+h0)+", beaten)  # a browser draws nothing after a number that is none


def test_every_dot_lies_inside_the_frame_of_its_chart(run):
    page = _page(run)
    width, height = (float(one) for one in page.all("svg")[0]["viewbox"].split()[2:])
    for dot in page.all("circle"):
        assert 0.0 < float(dot["cx"]) < width
        assert 0.0 < float(dot["cy"]) < height
    (beaten,) = [one["d"] for one in page.all("path") if one["class"] == "beaten"]
    places = [tuple(map(float, one.split())) for one in re.findall(r"M([\d.]+ [\d.]+)h0", beaten)]
    assert len(places) > 100
    assert all(0.0 < x < width and 0.0 < y < height for x, y in places)


@pytest.mark.parametrize(
    "statement",
    [
        "DELETE FROM evaluation",
        "UPDATE evaluation SET outcome = 'MESH_FOLDED', figures = NULL",
        "DELETE FROM stint",
    ],
)
def test_a_run_without_an_answer_or_a_stint_has_a_page(run, statement):
    _change(run, statement)
    page = _page(run)
    assert page.opened == []
    assert page.said


def test_a_first_design_alone_has_a_page(tmp_path):
    page = _page(invented_run(tmp_path / "run", designs=1, confirmed=1, milestones=1))
    assert "1 of them stand for all" in page.said or "No design keeps every limit yet" in page.said


def test_the_finer_grid_is_told_of_those_that_ran_there(run):
    finer = States.FINER.value
    _change(run, f"UPDATE asked SET states = '{finer}' WHERE number > {DESIGNS}")
    assert "On the finer grid" in _page(run).said


def test_the_page_replaces_the_old_one_whole_and_leaves_nothing_beside_it(run):
    write_page(run)
    before = {path.name for path in run.iterdir()}
    write_page(run)
    assert {path.name for path in run.iterdir()} == before
    assert sum(name.startswith(PAGE) for name in before) == 1


def test_a_page_that_cannot_be_written_is_a_mistake_and_leaves_the_old_one(run, monkeypatch):
    old = write_page(run).read_bytes()

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("pathlib.Path.replace", full)
    with pytest.raises(UserMistakes, match="no space left"):
        write_page(run)
    assert (run / PAGE).read_bytes() == old
    assert [path.name for path in run.iterdir() if path.name.startswith(f"{PAGE}.")] == []
    KeptPage(run).keep_up()  # and a sweep at work isn't stopped by it


def test_a_page_is_kept_up_at_its_interval_and_the_seldomer_the_longer_it_takes(run, monkeypatch):
    clock = {"now": 100.0, "cpu": 0.0}
    written = []

    def write(folder, **_):
        clock["cpu"] += 3.0
        written.append(clock["now"])
        return folder

    monkeypatch.setattr(front_page, "write_page", write)
    monkeypatch.setattr("time.monotonic", lambda: clock["now"])
    monkeypatch.setattr("time.process_time", lambda: clock["cpu"])
    page = KeptPage(run)
    for second in range(700):
        clock["now"] = 100.0 + second
        page.keep_up()
    assert written == [100.0, 400.0, 700.0]  # three seconds of work each: a hundredth of three hundred


def test_the_colours_are_those_of_the_pictures(run):
    palette = {
        one for name in ("INK", "PALE", "FAINT", "BLUE", "RUST", "GREEN") for one in [getattr(drawing, name)]
    }
    write_page(run)
    root = re.search(r":root \{(.*?)\}", (run / PAGE).read_text(encoding="utf-8"))[1]
    assert set(re.findall(r"#\w{6}", root)) == palette


@pytest.mark.skipif(BROWSER is None, reason="no browser on this machine")
@pytest.mark.parametrize("width", [360, 1200])
def test_a_browser_shows_the_page_without_scrolling_sideways(run, width, tmp_path):
    """The page is put into a frame of the width of a phone, which a browser's own window need not reach."""
    text = write_page(run).read_text(encoding="utf-8")
    text = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", text)
    told = "<script>parent.postMessage(document.documentElement.scrollWidth, '*')</script></body>"
    (tmp_path / "inner.html").write_text(text.replace("</body>", told), encoding="utf-8")
    (tmp_path / "outer.html").write_text(
        "<script>onmessage = (m) => { document.body.dataset.width = m.data }</script>"
        f'<body><iframe src="inner.html" style="width:{width}px;height:800px;border:0"></iframe></body>',
        encoding="utf-8",
    )
    done = subprocess.run(
        [BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=3000",
         f"--user-data-dir={tmp_path / 'browser'}", "--dump-dom", (tmp_path / "outer.html").as_uri()],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    assert int(re.search(r'data-width="(\d+)"', done.stdout)[1]) <= width


def test_a_bug_in_the_page_stops_no_sweep_and_is_told_at_once_and_at_its_end(run, monkeypatch, capfd):
    def broken(*_, **__):
        raise ZeroDivisionError

    monkeypatch.setattr("optitip.report.front_page.page_text", broken)
    page = KeptPage(run)
    page.keep_up()
    assert "ZeroDivisionError" in capfd.readouterr().err
    page.keep_up()
    assert capfd.readouterr().err == ""
    with pytest.raises(ZeroDivisionError):
        write_page(run)


def test_the_page_tells_whether_the_target_is_reached(run):
    text = write_page(run).read_text(encoding="utf-8")
    assert "Target sample.temperature_coldest_peak &gt;= 45 degC: " in text
