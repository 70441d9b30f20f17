"""Ways to search, each with the same face: ask for designs, tell what they came to."""

import time

import numpy as np
from pymoo.algorithms.moo.nsga2 import NSGA2
from pymoo.core.problem import Problem as Posed
from search_problem import Problem

from optitip.search.archive import Archive
from optitip.search.lead import Lead
from optitip.search.proposals import first_count, next_count, propose
from optitip.search.quasi_random import drawn
from optitip.search.space import design_id


class Drawn:
    """Quasi-random designs of one sequence."""

    evaluations = 2000

    def __init__(self, problem: Problem, *, seed: int, budget: int) -> None:
        self._designs = drawn(problem.space, budget, seed=1000 + seed)
        self._at = 0

    def ask(self):
        self._at += 100
        return self._designs[self._at - 100 : self._at]

    def tell(self, designs, columns, answered):
        """Learn nothing."""


class Library:
    """NSGA-II of pymoo with its own defaults on the unit cube, choices as ranges of a number."""

    evaluations = 12000

    def __init__(self, problem: Problem, *, seed: int, budget: int) -> None:
        self._problem = problem
        self._goals = problem.components
        nothing = np.zeros((1, len(self._goals.names)))
        posed = Posed(
            n_var=problem.space.dimension,
            n_obj=self._goals.cost(nothing).shape[1],
            n_ieq_constr=self._goals.excess(nothing).shape[1],
            xl=0.0,
            xu=1.0,
        )
        self._algorithm = NSGA2()
        self._algorithm.setup(posed, termination=("n_eval", 10 * budget), seed=seed, verbose=False)

    def ask(self):
        self._asked = self._algorithm.ask()
        return [self._problem.space.design_at(point) for point in self._asked.get("X")]

    def tell(self, designs, columns, answered):
        lost = len(self._asked) - len(designs)  # the budget ends within a generation
        if lost:
            return
        cost, excess = self._goals.cost(columns), self._goals.excess(columns)
        self._asked.set("F", np.where(answered[:, None], cost, 0.0))
        self._asked.set("G", np.where(answered[:, None], excess, 1e6))
        for one in self._asked:
            one.evaluated = {"F", "G", "H"}
        self._algorithm.tell(infills=self._asked)


class Ours:
    """The package's own proposals, as a sweep asks for them."""

    lead = Lead.GENETIC
    evaluations = 6000

    def __init__(self, problem: Problem, *, seed: int, budget: int) -> None:
        self._problem, self._seed, self._budget = problem, seed, budget
        self._known: set[str] = set()
        self._points = np.zeros((0, problem.space.dimension))
        self._columns = np.zeros((0, len(problem.components.names)))
        self._answered = np.zeros(0, dtype=bool)

    def ask(self):
        space, done = self._problem.space, len(self._points)
        if not done:
            return drawn(space, first_count(self._budget), seed=self._seed)
        answered = self._answered[:, None]
        archive = Archive(
            points=self._points,
            cost=np.where(answered, self._problem.components.cost(self._columns), 0.0),
            excess=np.where(answered, self._problem.components.excess(self._columns), 0.0),
            components=self._columns,
            answered=self._answered,
        )
        return propose(
            archive,
            space=space,
            components=self._problem.components,
            known=self._known,
            count=min(next_count(done, lead=self.lead), self._budget - done),
            seed=self._seed,
            lead=self.lead,
        )

    def tell(self, designs, columns, answered):
        self._known |= {design_id(one) for one in designs}
        self._points = np.vstack([self._points, self._problem.space.points_of(designs)])
        self._columns = np.vstack([self._columns, columns])
        self._answered = np.concatenate([self._answered, answered])


class Led(Ours):
    """The same, led by processes."""

    lead = Lead.SURROGATE
    evaluations = 1500


WAYS = {"drawn": Drawn, "library": Library, "genetic": Ours, "surrogate": Led}


def searched(problem: Problem, way, *, seed: int, budget: int, judge) -> dict[str, np.ndarray]:
    """Return a run of one way, a row an evaluation: points, components, CPU time [s], that of choosing it."""
    way = way(problem, seed=seed, budget=budget)
    points, rows, own, spent = [], [], [], []
    while len(spent) < budget:
        begin = time.process_time()
        designs = way.ask()[: budget - len(spent)]
        if not designs:
            break
        choosing = time.process_time() - begin
        told = judge.evaluate(designs)
        begin = time.process_time()
        way.tell(designs, told.components, told.answered)
        choosing += time.process_time() - begin
        points.append(problem.space.points_of(designs))
        rows.append(told.components)
        spent.extend(told.seconds)
        own.extend([choosing / len(designs)] * len(designs))
    return {
        "points": np.vstack(points),
        "components": np.vstack(rows),
        "seconds": np.array(spent),
        "own": np.array(own),
    }
