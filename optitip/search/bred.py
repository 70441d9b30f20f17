"""The one door to pymoo: a genetic search, with types. Less is better."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol, TypeAlias

import numpy as np
from pymoo.algorithms.moo.nsga2 import NSGA2
from pymoo.core.population import Population
from pymoo.core.problem import Problem

from optitip.arrays import FloatArray

_DONE = frozenset({"F", "G", "H", "CV"})
CostAndExcess: TypeAlias = Callable[[FloatArray], tuple[FloatArray, FloatArray]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bred:
    """The last population: points (n, d), costs (n, m), and the sum of excesses (n,), zero when feasible."""

    points: FloatArray
    cost: FloatArray
    violation: FloatArray


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
