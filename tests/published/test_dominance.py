"""Dominance measures against the worked examples of the literature.

Each test names its paper and says which of its numbers are *published* (read in the paper or in
the documented output of a published program) and which are *computed* from the published formula
by a separate hand, because nobody printed them.
"""

from __future__ import annotations

import itertools
import warnings

import networkx as nx
import numpy as np
import pytest

from sim.dominance import (
    circular_triads,
    david_score,
    de_vries_h,
    landau_h,
    linearity_chance,
    linearity_null,
    steepness,
    triangle_transitivity,
    unknown_dyads,
    win_matrix,
)
from sim.elo import elo_history, elo_ratings, win_chance


def matrix(text: str) -> np.ndarray:
    return np.array([[int(n) for n in row.split()] for row in text.split("/")])


BONOBOS = matrix(  # He Dz Ho De Ko Re Ki, as printed in deVries2006
    "0 0 1 2 10 63 8 / 0 0 2 3 0 88 4 / 0 0 0 4 65 84 3 / 0 0 0 0 0 80 10 /"
    "0 0 0 0 0 4 1 / 0 1 5 0 10 0 6 / 0 0 0 0 0 2 0"
)
VERVAECKE = matrix(  # Vervaecke2000, table 2
    "0 0 0 0 0 1 / 2 0 1 0 0 0 / 30 18 0 0 0 4 / 6 0 3 0 5 4 / 19 19 8 267 0 1 / 122 85 84 50 10 0"
)
DE_VRIES = matrix(  # deVries1998, fictional, order a v b h g w e k c y
    "0 5 4 6 3 0 2 2 3 1 / 0 0 0 0 2 1 2 0 7 7 / 0 0 0 0 1 1 1 2 2 2 / 0 3 0 0 0 0 6 0 2 5 /"
    "0 0 0 1 0 2 4 0 3 0 / 2 0 0 3 0 0 0 0 2 1 / 0 0 0 0 0 0 0 0 0 4 / 0 0 0 0 0 0 0 0 2 1 /"
    "0 0 0 0 0 1 0 2 0 6 / 0 0 0 0 0 0 0 0 2 0"
)
BADGERS = matrix(  # Hewitt2009, as used by Shizuka2012
    "0 6 4 0 4 11 5 / 0 0 5 0 5 22 7 / 0 3 0 0 2 7 4 / 0 0 0 0 0 0 0 / 0 3 1 0 0 1 2 /"
    "0 4 1 1 3 0 5 / 0 1 0 0 1 10 0"
)
# Albers2001: 33 fights, winner first.
ALBERS = """
bc cg cd cd be df de gf ea cg cb gf af bf fg da fe ce ba da fe ea fa cg ba be ga eg ga ba eg bc dg
"""
# The example sequence published with Neumann2011, in the order of the file, up to 28 May, winner
# first.  The file marks some as draws; the published ratings count every row as a win.
NEUMANN = """
dw kw nz kn cg ng dk dn kn dw fg aw fc cd kz ac wz dz kz gw az fc fn af wc nw ak cf fk dk ac dg dk
fn aw ad gw gk gn aw cw ad dz aw gw fg dg cw df cf an dz dz zf cf fz zk ck zg az ag kz wn wz kz ac
cd aw dz cf wz fz dw ag cz ag ng cg gw nz ak ac cw ck gn wz dz ag fn az ac da wz dw fn fn fw cf fk
fw aw aw ag ag ad cw gk zn dw dn wz cf nw cd kd ak cg fw wz dz cf nz af ag fk aw fk dw kn az kd fg
nz wz df gw da an kw wa fw wa fk kw az dw nw
"""


def indices(text: str) -> tuple[list[list[int]], dict[str, int]]:
    bouts = text.split()
    names = sorted(set("".join(bouts)))
    place = {name: i for i, name in enumerate(names)}
    return [[place[winner], place[loser]] for winner, loser in bouts], place


class TestLinearity:
    """Landau1951 and deVries1995: formulae published, values computed (none found printed)."""

    @pytest.mark.parametrize(
        ("wins", "h", "corrected", "unknown"),
        [
            (BONOBOS, 0.8036, 0.8571, 3),
            (VERVAECKE, 0.9143, 0.9429, 1),
            (DE_VRIES, 0.5818, 0.6424, 10),
            (BADGERS, 0.5179, 0.6071, None),
        ],
    )
    def test_values(self, wins, h, corrected, unknown):
        assert round(landau_h(wins), 4) == h
        assert round(de_vries_h(wins), 4) == corrected
        if unknown is not None:
            assert unknown_dyads(wins) == unknown

    def test_bonobo_numbers_dominated(self):
        """Computed: V = 5.5, 5, 4, 2.5, 2, 2, 0 put into Landau's formula by hand."""
        v = np.array([5.5, 5, 4, 2.5, 2, 2, 0])
        assert landau_h(BONOBOS) == pytest.approx(12 / (343 - 7) * np.sum((v - 3) ** 2), abs=1e-12)

    @pytest.mark.parametrize("wins", [BONOBOS, VERVAECKE, BADGERS])
    def test_corrected_h_is_the_mean_over_all_fillings(self, wins):
        """deVries1995, published meaning of h': the mean of h over the unknown dyads' outcomes."""
        blank = [(i, j) for i, j in itertools.combinations(range(len(wins)), 2)
                 if wins[i, j] + wins[j, i] == 0]  # fmt: skip
        found = []
        for flips in itertools.product([0, 1], repeat=len(blank)):
            filled = wins.copy()
            for (i, j), flip in zip(blank, flips, strict=True):
                filled[(j, i) if flip else (i, j)] = 1
            found.append(landau_h(filled))
        assert len(found) == 2 ** len(blank)
        assert np.mean(found) == pytest.approx(de_vries_h(wins), abs=1e-12)

    def test_ties_and_triads_of_de_vries_1998(self):
        """Computed: one tie, 5 circular of 54 complete triads."""
        ties = np.triu((DE_VRIES == DE_VRIES.T) & (DE_VRIES > 0), k=1).sum()
        triads = triangle_transitivity(DE_VRIES)
        assert ties == 1
        assert (triads.circular, triads.triads) == (5, 54)
        assert circular_triads(DE_VRIES) == 5


class TestExactNull:
    """Appleby1983 style: chances of d circular triads in complete tournaments, all computed."""

    @pytest.mark.parametrize(
        ("n", "chances", "h"),
        [
            (4, [0.3750, 0.6250, 1.0], [1, 0.6, 0.2]),
            (5, [0.1172, 0.2344, 0.4688, 0.7031, 0.9766], [1, 0.8, 0.6, 0.4, 0.2, 0]),
            (6, [0.0220, 0.0513, 0.1196, 0.2075, 0.3979, 0.5093],
             [1, 0.8857, 0.7714, 0.6571, 0.5429, 0.4286, 0.3143, 0.2, 0.0857]),
        ],
    )  # fmt: skip
    def test_tables(self, n, chances, h):
        null = linearity_null(n)
        assert null.circular.tolist() == list(range(len(h)))
        assert null.chance_at_most[: len(chances)] == pytest.approx(chances, abs=5e-5)
        assert null.h == pytest.approx(h, abs=5e-5)
        assert null.chance_at_most[-1] == 1.0

    @pytest.mark.parametrize("n", [3, 4, 5, 6])
    def test_mean_h_is_three_over_n_plus_one(self, n):
        """Landau1951, published: E[h] = 3 / (N + 1) when every outcome is a toss."""
        null = linearity_null(n)
        chance = np.diff(null.chance_at_most, prepend=0.0)
        assert chance @ null.h == pytest.approx(3 / (n + 1), abs=1e-12)

    @pytest.mark.parametrize("n", [3, 4, 5])
    def test_against_every_tournament_played_out(self, n):
        """Computed: all 2^(n (n - 1) / 2) tournaments, h and triads of each, one by one."""
        dyads = list(itertools.combinations(range(n), 2))
        seen = []
        for flips in itertools.product([0, 1], repeat=len(dyads)):
            wins = np.zeros((n, n))
            for (i, j), flip in zip(dyads, flips, strict=True):
                wins[(j, i) if flip else (i, j)] = 1
            d = circular_triads(wins)
            assert landau_h(wins) == pytest.approx(1 - 24 * d / (n**3 - n), abs=1e-12)
            seen.append(d)
        null = linearity_null(n)
        for d, chance in zip(null.circular, null.chance_at_most, strict=True):
            assert np.mean(np.array(seen) <= d) == pytest.approx(chance, abs=1e-12)

    def test_a_straight_line_of_four_or_five_is_no_evidence(self):
        for n, chance in ((4, 0.375), (5, 120 / 1024)):
            assert linearity_chance(np.triu(np.ones((n, n)), k=1)) == pytest.approx(chance)


class TestDavidScore:
    """David1987 as corrected by deVries2006."""

    def test_bonobos(self):
        """Pij and its normalised form published in deVries2006; Dij and steepness computed."""
        assert david_score(BONOBOS, form="Pij") == pytest.approx(
            [14.011236, 11.635634, 6.606742, -1.285714, -5.988764, -8.729133, -16.25], abs=5e-7
        )
        assert david_score(BONOBOS, form="Pij", normalised=True) == pytest.approx(
            [5.0016051, 4.6622334, 3.9438202, 2.8163265, 2.1444623, 1.7529810, 0.6785714], abs=5e-8
        )
        assert david_score(BONOBOS) == pytest.approx(
            [10.987484, 9.689126, 7.392677, 0.860578, -7.255948, -8.849421, -12.824495], abs=5e-7
        )
        assert david_score(BONOBOS, normalised=True) == pytest.approx(
            [4.569641, 4.384161, 4.056097, 3.122940, 1.963436, 1.735797, 1.167929], abs=5e-7
        )
        for form, slope, intercept in (("Dij", -0.6284, 5.5135), ("Pij", -0.7352, 5.9410)):
            line = steepness(BONOBOS, form=form)
            assert (round(line.slope, 4), round(line.intercept, 4)) == (slope, intercept)

    def test_vervaecke(self):
        """Vervaecke2000: all three vectors published as output of a program for Gammell2003."""
        assert david_score(VERVAECKE, form="Dij") == pytest.approx(
            [-12.4901690, -6.2706524, -2.2100701, 0.4940695, 8.0409341, 12.4358879], abs=5e-8
        )
        assert david_score(VERVAECKE, form="Pij") == pytest.approx(
            [-13.951220, -5.776667, -2.990431, 1.502107, 8.453543, 12.762667], abs=5e-7
        )
        assert david_score(VERVAECKE, form="Dij", normalised=True) == pytest.approx(
            [0.4183052, 1.4548913, 2.1316550, 2.5823449, 3.8401557, 4.5726480], abs=5e-8
        )


class TestTransitivity:
    """Shizuka2012."""

    def test_badgers(self):
        """Published: P_t 0.950, t_tri 0.800."""
        found = triangle_transitivity(BADGERS)
        assert (round(found.share, 3), round(found.t_tri, 3)) == (0.950, 0.800)

    @pytest.mark.parametrize(
        ("triads", "circular", "share", "t_tri"),
        [(35, 0, 1.0, 1.0), (20, 4, 0.8, 0.2), (20, 1, 0.95, 0.8)],
        ids=["elephants", "squirrels", "badgers"],
    )
    def test_published_pairs(self, triads, circular, share, t_tri):
        """Published: elephants 1 and 1, squirrels 0.800 and 0.200.

        Their matrices were not at hand.  Groups apart, each of one complete triad, are made to
        have the published share; only the step from P_t to t_tri is the paper's.
        """
        wins = np.zeros((3 * triads, 3 * triads))
        for group in range(triads):
            a, b, c = range(3 * group, 3 * group + 3)
            wins[a, b] = wins[b, c] = 1
            wins[(c, a) if group < circular else (a, c)] = 1
        found = triangle_transitivity(wins)
        assert (found.triads, found.circular) == (triads, circular)
        assert found.share == pytest.approx(share, abs=1e-12)
        assert found.t_tri == pytest.approx(t_tri, abs=1e-12)

    @pytest.mark.parametrize("wins", [BONOBOS, VERVAECKE, DE_VRIES, BADGERS])
    def test_against_the_census_of_networkx(self, wins):
        graph = nx.from_numpy_array((wins > wins.T).astype(int), create_using=nx.DiGraph)
        census = nx.triadic_census(graph)
        found = triangle_transitivity(wins)
        assert found.circular == census["030C"]
        assert found.triads == census["030C"] + census["030T"]


class TestElo:
    """Albers2001 and Neumann2011.  "every bout" is the rounding of the reference program."""

    def test_chances(self):
        """Published (documented output of the program of Neumann2011)."""
        assert win_chance(1000, against=1200) == pytest.approx(0.2397501, abs=5e-8)
        assert win_chance(1200, against=1000) == pytest.approx(0.7602499, abs=5e-8)

    @pytest.mark.parametrize(
        ("start", "curve", "draw", "after"),
        [
            ((1000, 1500), "normal", False, (1096, 1404)),
            ((1000, 1500), "logistic", False, (1095, 1405)),
            ((1000, 1000), "normal", False, (1050, 950)),
            ((1200, 1000), "normal", False, (1224, 976)),
            ((1200, 1000), "normal", True, (1174, 1026)),
            ((2000, 1000), "normal", False, (2000, 1000)),
            ((1000, 2000), "normal", False, (1100, 1900)),
        ],
    )
    def test_one_bout(self, start, curve, draw, after):
        """First two rows published, the others computed from the documented calls; rounded."""
        found = elo_ratings(
            [(0, 1)], n_fish=2, draws=[draw], start=start, curve=curve, rounding="every bout"
        )
        assert found.tolist() == list(after)

    def test_albers_and_de_vries_sequence(self):
        """Sequence published in Albers2001; ratings computed, with and without rounding."""
        bouts, place = indices(ALBERS)
        history = elo_history(bouts, n_fish=7, rounding="every bout")
        b, c, g = place["b"], place["c"], place["g"]
        assert len(bouts) == 33
        assert history[1, [b, c]].tolist() == [1050, 950]
        assert history[2, [c, g]].tolist() == [1007, 943]
        order = [place[name] for name in "bcdfega"]
        assert history[-1, order].tolist() == [1203, 1148, 1116, 1004, 982, 843, 704]
        assert elo_ratings(bouts, n_fish=7)[order] == pytest.approx(
            [1201.52, 1148.25, 1115.80, 1004.91, 981.90, 842.47, 705.16], abs=5e-3
        )

    def test_example_sequence_of_neumann(self):
        """Published: ratings on 28 May after 147 interactions, start 1000, k 100; rounded."""
        bouts, place = indices(NEUMANN)
        assert len(bouts) == 147
        place["s"] = len(place)  # comes later: rated already, has met nobody
        found = elo_ratings(bouts, n_fish=10, rounding="every bout")
        assert {name: int(found[i]) for name, i in place.items()} == {
            "c": 1342, "d": 1214, "a": 1161, "f": 1133, "k": 1011,
            "s": 1000, "g": 958, "n": 844, "w": 799, "z": 538,
        }  # fmt: skip


@pytest.fixture(scope="module")
def hierarchia():
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return pytest.importorskip("HierarchiaPy").Hierarchia


class TestAgainstAnotherPackage:
    """HierarchiaPy, a general package for animal hierarchies, where it is installed.

    Its normal curve has another width (2000 / 7 points) and it never rounds, so Elo is compared
    on the logistic curve without rounding.
    """

    @pytest.mark.parametrize("wins", [BONOBOS, VERVAECKE, DE_VRIES, BADGERS])
    @pytest.mark.parametrize("form", ["Dij", "Pij"])
    def test_david_score(self, hierarchia, wins, form):
        other = hierarchia(wins, list(range(len(wins)))).davids_score(method=form, order=False)
        assert david_score(wins, form=form) == pytest.approx(list(other.values()), abs=6e-5)

    @pytest.mark.parametrize("form", ["Dij", "Pij"])
    def test_steepness(self, hierarchia, form):
        other = hierarchia(BONOBOS, list(range(7))).get_steepness(method=form)
        # Its slope is of scores rounded to four places.
        assert -steepness(BONOBOS, form=form).slope == pytest.approx(float(other), abs=1.5e-4)

    def test_landau(self, hierarchia):
        """A complete matrix without unknown dyads: exact to the four places it gives."""
        wins = np.array([[0, 6, 9, 8, 5], [1, 0, 4, 6, 3], [0, 5, 0, 4, 7],
                         [1, 0, 5, 0, 3], [0, 4, 2, 3, 0]])  # fmt: skip
        other = hierarchia(wins, list(range(5))).landau_h(improved=False)["Landau_h"]
        assert landau_h(wins) == pytest.approx(float(other), abs=6e-5)

    def test_de_vries(self, hierarchia):
        """It draws the unknown dyads at random: 20,000 draws, seed 1, tolerance 4 standard errors.

        For the bonobos' three unknown dyads the standard deviation of h is under 0.06.
        """
        state = np.random.get_state()
        np.random.seed(1)
        try:
            other = hierarchia(BONOBOS, list(range(7))).landau_h(n_random=20_000)
        finally:
            np.random.set_state(state)
        assert other["Improved_Landau_h"] == pytest.approx(
            de_vries_h(BONOBOS), abs=4 * 0.06 / np.sqrt(20_000) + 5e-5
        )

    def test_elo(self, hierarchia):
        pandas = pytest.importorskip("pandas")
        frame = pandas.DataFrame(
            [tuple(bout) for bout in ALBERS.split()], columns=["winner", "loser"]
        )
        other = hierarchia(frame, "winner", "loser").elo(start_value=1000, K=100)
        bouts, place = indices(ALBERS)
        found = elo_ratings(bouts, n_fish=7, curve="logistic")
        assert {name: round(found[i], 3) for name, i in place.items()} == pytest.approx(
            {name: float(rating) for name, rating in other.items()}, abs=1e-3
        )


class TestRefusals:
    def test_sentences(self):
        with pytest.raises(ValueError, match=r"the shape is \(2, 3\); expected a square of 2"):
            landau_h(np.zeros((2, 3)))
        with pytest.raises(ValueError, match="beaten itself"):
            david_score(np.eye(3))
        with pytest.raises(ValueError, match="negative or missing"):
            landau_h([[0, -1], [1, 0]])
        with pytest.raises(ValueError, match="3 dyads have no winner"):
            linearity_chance(BONOBOS)
        with pytest.raises(ValueError, match="is 12; expected 3 to 11"):
            linearity_null(12)
        with pytest.raises(ValueError, match="index is 7; expected 0 to 6"):
            win_matrix([(0, 7)], n_fish=7)
        with pytest.raises(ValueError, match="meets itself"):
            elo_ratings([(1, 1)], n_fish=3)
        with pytest.raises(ValueError, match='rounding is "up"'):
            elo_ratings([(0, 1)], n_fish=2, rounding="up")  # type: ignore[arg-type]
        with pytest.raises(ValueError, match='form is "Qij"'):
            david_score(BONOBOS, form="Qij")  # type: ignore[arg-type]

    def test_bouts_to_matrix(self):
        bouts, _ = indices(ALBERS)
        wins = win_matrix(bouts, n_fish=7)
        assert wins.sum() == 33
        assert wins[2].tolist() == [0, 1, 0, 2, 1, 0, 3]  # c over b once, d twice, e once, g thrice

    def test_no_bouts_leave_everyone_where_they_were(self):
        assert elo_ratings([], n_fish=3).tolist() == [1000.0, 1000.0, 1000.0]
        assert np.isnan(triangle_transitivity(np.zeros((3, 3))).share)
