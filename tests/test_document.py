"""YAML with positions. The outside reference is PyYAML's own pure-Python composer (seen: it is run here):
our trees and positions must be the same as its, from the C parser as well as from the Python one."""

from __future__ import annotations

import string

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from reviewer import document
from reviewer.document import MAX_BYTES, Node, Reader, parse_document, read_document, text_node
from reviewer.errors import InputError, Mark

LOADERS = [yaml.CSafeLoader, yaml.SafeLoader]


@pytest.fixture(params=LOADERS, ids=["c", "python"])
def loader(request, monkeypatch):
    monkeypatch.setattr(document, "_LOADER", request.param)
    return request.param


def plain(node: Node):
    if node.kind == "map":
        return {name: plain(value) for name, value in node.fields.items()}
    return [plain(item) for item in node.items] if node.kind == "list" else node.text


def composed(node: yaml.Node):
    """PyYAML's tree as (value, line, column), scalars as text."""
    at = (node.start_mark.line + 1, node.start_mark.column + 1)
    if isinstance(node, yaml.MappingNode):
        return ({key.value: composed(value) for key, value in node.value}, *at)
    if isinstance(node, yaml.SequenceNode):
        return ([composed(item) for item in node.value], *at)
    return (node.value, *at)


def placed(node: Node):
    at = (node.mark.line, node.mark.column)
    if node.kind == "map":
        return ({name: placed(value) for name, value in node.fields.items()}, *at)
    if node.kind == "list":
        return ([placed(item) for item in node.items], *at)
    return (node.text, *at)


def refusal(text: str | bytes) -> InputError:
    with pytest.raises(InputError) as caught:
        parse_document(text, "f.yaml")
    return caught.value


words = st.text(string.ascii_letters + string.digits + " :#'\"-?%é°–½", max_size=12)
trees = st.recursive(
    words,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(string.ascii_letters, min_size=1, max_size=8), inner, max_size=4)
    ),
    max_leaves=15,
)


@settings(max_examples=150, deadline=None)
@given(tree=trees, flow=st.sampled_from([True, False, None]))
def test_trees_and_positions_are_those_of_pyyamls_own_composer(tree, flow):
    text = yaml.safe_dump({"top": tree}, default_flow_style=flow, allow_unicode=True, sort_keys=False)
    reference = yaml.compose(text, Loader=yaml.SafeLoader)
    for chosen in LOADERS:
        document._LOADER, before = chosen, document._LOADER
        try:
            node = parse_document(text, "f.yaml")
        finally:
            document._LOADER = before
        assert placed(node) == composed(reference)


def test_scalars_stay_text(loader):
    text = "a: no\nb: 1e-3\nc: 2027-06-30\nd: 0x10\ne: 1_000\nf: 12:30\ng: '~'\nh: ~\ni:\n"
    node = parse_document(text)
    assert plain(node) == {
        "a": "no",
        "b": "1e-3",
        "c": "2027-06-30",
        "d": "0x10",
        "e": "1_000",
        "f": "12:30",
        "g": "~",
        "h": "~",
        "i": "",
    }
    assert [n for n, v in node.fields.items() if v.empty] == ["h", "i"]


def test_a_layer_that_starts_with_a_question_mark_is_a_text(loader):
    node = parse_document("- ? sheathing\n- [? wrap]\n", "f.yaml")
    assert node.items[0].text == "? sheathing" and node.items[1].items[0].text == "? wrap"
    assert node.items[0].at(2, 9) == Mark("f.yaml", 1, 5, 9, "- ? sheathing")


@pytest.mark.parametrize(
    ("text", "line", "column", "says"),
    [
        ("", 1, 1, "empty"),
        ("# only a comment\n", 1, 1, "empty"),
        ("~", 1, 1, "empty"),
        ("a: [1, 2\nb: 3", 1, 4, "list is not closed"),
        ("a: {b: 1\n", 1, 4, "map is not closed"),
        ("a: 'x\nb: 3", 1, 4, "quoted text is not closed"),
        ("a: b: c", 1, 5, '": "'),
        ("a: @x", 1, 4, "can't start with this character"),
        ("a: - b", 1, 4, "list item"),
        ("a: }", 1, 4, "value is missing"),
        ('a: "6" foam"', 1, 6, "inch mark"),
        ("a: 1\na: 2", 2, 1, '"a" is given twice, first in line 1'),
        ("a: &x 1", 1, 4, 'anchor "&x"'),
        ("b: *x", 1, 4, 'alias "*x"'),
        ("a: !!int 3", 1, 4, 'tag "!!int"'),
        ("a: !foo {b: 1}", 1, 4, 'tag "!foo"'),
        ("<<: {a: 1}", 1, 1, "merge keys"),
        ("? [1]\n: 2", 1, 3, "a list can't be a key"),
        ("~: 2", 1, 1, "key is missing"),
        ("a: 1\n---\nb: 2", 2, 1, "second document"),
        ("a: \x00", 1, 4, "U+0000"),
        ("a: b\x07", 1, 5, "U+0007"),
        ("a: b\u2028c", 1, 5, "U+2028"),
        ("a:\n\tb: 1", 2, 1, "tab"),
        ("%YAML 3.0\n---\na", 1, 1, "version of YAML"),
        ("a: " + "[" * 30 + "]" * 30, 1, 23, "nested deeper than 20"),
    ],
)
def test_what_is_refused_is_located_and_named(loader, text, line, column, says):
    problem = refusal(text).problems[0]
    assert says in problem.message
    assert problem.mark is not None and problem.mark.line == line
    # The two parsers put some syntax errors a character apart.
    assert abs(problem.mark.column - column) <= 1


@pytest.mark.parametrize(
    ("data", "line", "column", "says"),
    [
        (b"a: 1\nb: \xc3\xa9\xff", 2, 5, "byte 0xff is not UTF-8"),
        ("a: 1".encode("utf-16"), 1, 1, "UTF-16"),
        (b"a: " + b"x" * MAX_BYTES, 1, 1, "larger than 1 MiB"),
    ],
)
def test_bytes_that_are_no_text_are_refused(data, line, column, says):
    problem = refusal(data).problems[0]
    assert says in problem.message and problem.mark is not None
    assert (problem.mark.line, problem.mark.column) == (line, column)


def test_line_ends_and_byte_order_marks_do_not_move_positions():
    reference = placed(parse_document("a: 1\nb: [x, y]\n", "f"))
    assert placed(parse_document(b"\xef\xbb\xbfa: 1\r\nb: [x, y]\r\n", "f")) == reference
    assert placed(parse_document("a: 1\rb: [x, y]\r", "f")) == reference


def test_independent_problems_are_reported_together_in_order():
    error = refusal("a: &x 1\nb: 2\nb: 3\n<<: 4\n")
    assert [p.mark.line for p in error.problems if p.mark] == [1, 3, 4]


@pytest.mark.parametrize("count", [100_000, 500_000])
@pytest.mark.parametrize("opening", ["[", "{a: ", "- ", "? "])
def test_deep_nesting_ends_in_a_message_and_not_in_a_crash(opening, count):
    assert "nested deeper" in refusal(opening * (count // len(opening))).problems[0].message


@settings(max_examples=300, deadline=None)
@given(st.text() | st.binary() | st.text("ab:-[]{}?#&*!|>'\"%@`, \n\t", max_size=60))
def test_any_input_gives_a_tree_or_located_problems(data):
    try:
        problems = [] if parse_document(data, "f.yaml") else [None]
    except InputError as error:
        problems = list(error.problems)
    assert all(p is not None and p.mark is not None and p.render() for p in problems)


def test_parts_of_a_text_are_placed_in_it():
    node = parse_document('a: "6 mil poly"\nb: 1/2 in foam\nc: >\n  folded\n  text\n', "f")
    assert node.fields["a"].at(2, 3) == Mark("f", 1, 7, 3, 'a: "6 mil poly"')
    assert node.fields["b"].part(6, 5).mark == Mark("f", 2, 11, 4, "b: 1/2 in foam")
    assert node.fields["c"].at(2, 3).line == 3


def test_a_text_from_the_command_line_has_positions_too():
    node = text_node("latex paint\n| plywood", "<line>")
    assert node.at(14, 7).column == 15
    with pytest.raises(InputError):
        text_node("a\x00b", "<line>")


def test_files_that_cannot_be_read_are_named(tmp_path, monkeypatch):
    (tmp_path / "wall.yaml").write_text("a: 1")
    for path, says, near in (
        (tmp_path / "wal.yaml", "there is no file", str(tmp_path / "wall.yaml")),
        (tmp_path, "is a folder", ""),
        (tmp_path / "no" / "wall.yaml", "there is no file", ""),
        ("a\x00b", "can't be read", ""),
        ("x" * 5000, "can't be read", ""),
    ):
        with pytest.raises(InputError) as caught:
            read_document(path)
        (problem,) = caught.value.problems
        assert says in problem.message and problem.nearest == near

    def forbidden(*args, **kwargs):
        raise PermissionError

    monkeypatch.setattr("builtins.open", forbidden)
    with pytest.raises(InputError, match="may not be read"):
        read_document(tmp_path / "wall.yaml")


def test_an_endless_file_is_read_up_to_the_limit():
    with pytest.raises(InputError, match="larger than 1 MiB"):
        read_document("/dev/zero")


def test_the_reader_takes_values_and_keeps_none_for_what_is_absent():
    node = parse_document(
        "t: ' Hi '\nn: 7/16\ni: 3\nq: 1/2 in\nf: No\nl: [a, b]\none: a\nc: Foundation Wall\n"
    )
    reader = Reader()
    fields = reader.map(node, ("t", "n", "i", "q", "f", "l", "one", "c", "other"), "a test", ("t",))
    assert reader.text(fields["t"]) == "Hi"
    assert reader.number(fields["n"]) == 0.4375
    assert reader.integer(fields["i"]) == 3
    span = reader.quantity(fields["q"], "length")
    assert span is not None and span.low == 0.0127
    assert reader.flag(fields["f"]) is False
    assert reader.texts(fields["l"]) == ["a", "b"] and reader.texts(fields["one"]) == ["a"]
    assert reader.choice(fields["c"], ("wall", "foundation wall")) == "foundation wall"
    missing = fields.get("other")
    assert (
        reader.text(missing)
        is reader.number(missing)
        is reader.flag(missing)
        is reader.choice(missing, ("a",))
        is None
    )
    assert reader.list(missing) == [] and reader.map(missing) == {}
    reader.finish()


@pytest.mark.parametrize(
    ("value", "read", "says"),
    [
        ("[1]", lambda r, n: r.text(n, "`a`"), "`a` is a list"),
        ("''", lambda r, n: r.text(n, "`a`"), "`a` is empty"),
        ("x" * 50, lambda r, n: r.text(n, limit=10), "longer than 10"),
        ("walll", lambda r, n: r.choice(n, ("wall", "roof"), "kind"), 'kind can\'t be "walll"'),
        ("maybe", lambda r, n: r.flag(n), "neither yes nor no"),
        ("nan", lambda r, n: r.number(n), "not a finite number"),
        ("-.inf", lambda r, n: r.number(n), "not a finite number"),
        ("1e999", lambda r, n: r.number(n), "not a number"),
        ("1_000", lambda r, n: r.number(n), "not a number"),
        ("１２", lambda r, n: r.number(n), "not a number"),
        ("5", lambda r, n: r.number(n, low=6), "out of range"),
        ("2.5", lambda r, n: r.integer(n), "not a whole number"),
        ("3", lambda r, n: r.quantity(n, "length"), "has no unit"),
        ("text", lambda r, n: r.list(n), "is a plain text"),
        ("text", lambda r, n: r.map(n, ("b",)), "is a plain text"),
        ("{b: 1, cc: 2}", lambda r, n: r.map(n, ("b", "c"), "a thing"), '"cc" is not a key of a thing'),
        ("{b: }", lambda r, n: r.map(n, ("b",)), '"b" has no value'),
        ("{b: 1}", lambda r, n: r.map(n, None, "a thing", ("c",)), 'a thing has no "c"'),
    ],
)
def test_the_reader_says_what_is_wrong_and_where(value, read, says):
    reader = Reader()
    read(reader, parse_document(f"a: {value}", "f.yaml").fields["a"])
    with pytest.raises(InputError) as caught:
        reader.finish()
    (problem,) = caught.value.problems
    assert says in problem.message
    assert problem.mark is not None and problem.mark.line == 1 and problem.mark.column >= 4


def test_the_reader_suggests_the_nearest_key_and_word():
    reader = Reader()
    node = parse_document("materal: wood\nkind: rof\n", "f")
    fields = reader.map(node, ("material", "kind"))
    reader.choice(fields["kind"], ("wall", "roof"))
    assert [p.nearest for p in reader.problems] == ["material", "roof"]


def test_problems_come_once_and_in_the_order_of_the_text():
    reader = Reader()
    node = parse_document("a: 1\nb: 2\n", "f")
    for name in ("b", "a", "b"):
        reader.problem(node.fields[name], "wrong")
    with pytest.raises(InputError) as caught:
        reader.finish()
    assert [p.mark.line for p in caught.value.problems if p.mark] == [1, 2]
