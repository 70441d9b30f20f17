"""Heat delivered into an enclosed sample by a nose tip's own aerodynamic heating.

The rooms, in the order data flows through them (imports only ever point upwards in this list):

    errors      every exception the package raises, and the outcomes of a design
    arrays      the array types, and how arrays are frozen at a border
    units       the only door to pint: text with a unit in, SI floats out
    inputs      study file, material tables, CSV tables with units in their headers, checked
    properties  air and materials at temperature: cp(T), k(T), enthalpy, composition
    flight      time -> altitude, speed, air met there, axial acceleration
    geometry    free numbers -> outline, cavity, regions -> mesh with named sides
    heating     air + outline -> film coefficient and recovery temperature along the surface
    solvers     mesh, materials, heating -> temperature in time; temperature, loads -> stress
    metrics     fields -> the few numbers a designer compares
    evaluate    one design on one flight -> one assessment; where the rooms above meet
    search      many designs -> the front, stored as they come
    export      a chosen design -> drawings, lathe cards, DXF, STEP, tables, plots, mesh with fields
    report      an assessment or a search as a page, or a few lines, for people
    cli         the command line: one file a subcommand
"""

__version__ = "0.1.0"
