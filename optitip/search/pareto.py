"""The one door to pymoo: dominance, hypervolume and a genetic search, with types. Less is better."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol, TypeAlias

import numpy as np
from pymoo.algorithms.moo.nsga2 import NSGA2
from pymoo.core.population import Population
from pymoo.core.problem import Problem
from pymoo.indicators.hv import HV
from pymoo.util.nds.non_dominated_sorting import NonDominatedSorting

from optitip.arrays import FloatArray, IntArray

_DONE = frozenset({"F", "G", "H", "CV"})
CostAndExcess: TypeAlias = Callable[[FloatArray], tuple[FloatArray, FloatArray]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bred:
    """The last population: points (n, d), costs (n, m), and the sum of excesses (n,), zero when feasible."""

    points: FloatArray
    cost: FloatArray
    violation: FloatArray


def ranked(cost: FloatArray) -> list[IntArray]:
    """Return the rows of ``cost`` (n, m) front by front: no row of a front dominates another of it.

    >>> [front.tolist() for front in ranked(np.array([[1.0, 2.0], [2.0, 1.0], [2.0, 2.0]]))]
    [[0, 1], [2]]
    """
    if len(cost) == 0:
        return []
    return [np.sort(front).astype(np.int64) for front in NonDominatedSorting().do(cost)]


def non_dominated(cost: FloatArray) -> IntArray:
    """Return the rows of ``cost`` (n, m) that no other row dominates, in order.

    >>> non_dominated(np.array([[1.0, 2.0], [2.0, 1.0], [2.0, 2.0]])).tolist()
    [0, 1]
    """
    if len(cost) == 0:
        return np.zeros(0, dtype=np.int64)
    front = NonDominatedSorting().do(cost, only_non_dominated_front=True)
    return np.sort(np.asarray(front, dtype=np.int64))


def hypervolume(cost: FloatArray, *, reference: FloatArray) -> float:
    """Return the volume between the rows of ``cost`` (n, m) and ``reference`` (m,), a point worse than them.

    >>> hypervolume(np.array([[0.0, 0.5], [0.5, 0.0]]), reference=np.array([1.0, 1.0]))
    0.75
    """
    if len(cost) == 0:
        return 0.0
    return float(HV(ref_point=reference)(np.minimum(cost, reference)))


def breed(start: FloatArray, *, judge: CostAndExcess, generations: int, population: int, seed: int) -> Bred:
    """Return the population that NSGA-II reaches from ``start`` (n, d) in the unit cube.

    ``judge`` gives cost (n, m) and excess (n, k) of points; an excess above zero breaks a limit.

    Source: Deb, Pratap, Agarwal & Meyarivan 2002, as built in pymoo.
    """
    cost, excess = judge(start)
    problem = Problem(n_var=start.shape[1], n_obj=cost.shape[1], n_ieq_constr=excess.shape[1], xl=0.0, xu=1.0)
    first = Population.new(X=start)
    _tell(first, cost, excess)
    algorithm = NSGA2(pop_size=population, sampling=first)
    algorithm.setup(problem, termination=("n_gen", generations + 2), seed=seed)
    algorithm.tell(infills=_marked(algorithm.ask()))
    for _ in range(generations):
        offspring = algorithm.ask()
        if offspring is None or len(offspring) == 0:
            break
        _tell(offspring, *judge(offspring.get("X").astype(float)))
        algorithm.tell(infills=offspring)
    last = algorithm.pop
    return Bred(
        points=last.get("X").astype(float),
        cost=last.get("F").astype(float),
        violation=np.maximum(last.get("G").astype(float), 0.0).sum(axis=1),
    )


class _Individual(Protocol):
    evaluated: set[str]


class _Population(Protocol):
    def __iter__(self) -> Iterator[_Individual]: ...

    def set(self, key: str, values: FloatArray) -> object: ...


def _tell(population: _Population, cost: FloatArray, excess: FloatArray) -> None:
    population.set("F", cost)
    population.set("G", excess)
    _marked(population)


def _marked(population: _Population) -> _Population:
    for individual in population:
        individual.evaluated = set(_DONE)
    return population
