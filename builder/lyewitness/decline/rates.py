"""What the parameters of a fitted shape are called.

In: a shape's parameters against scaled exposure. Out: the same by name, with their units.
"""

from lyewitness.decline.shapes import Shape
from lyewitness.words.arrays import FloatArray


def named_parameters(shape: Shape, theta: FloatArray, end_h: float) -> dict[str, float]:
    """Return the parameters (p,) of a curve by name, per hour instead of per length of the test, `end_h`."""
    values = [float(value) for value in theta]
    if shape.name == "steady":
        return {"level_percent": values[0]}
    if shape.name == "straight line":
        return {"start_percent": values[0], "slope_percent_per_h": values[1] / end_h}
    if shape.name == "sigmoid":
        start, step, middle, width = values
        return {
            "start_percent": start,
            "step_percent": step,
            "middle_h": middle * end_h,
            "width_h": width * end_h,
        }
    named = {"start_percent": values[0], "rate_per_h": values[2 if shape.to_rest else 1] / end_h}
    if shape.to_rest:
        named["rest_percent"] = values[0] + values[1]
    return named if shape.delay is None else {**named, "delay_h": values[shape.delay] * end_h}
