"""Points of elements, components and deductions, exact to the hundredth."""
