"""The demonstration garden "Tern Steps": place, trees, records and weather, all invented by us."""

from bearwell.demo.tern_steps import write_demo

__all__ = ["write_demo"]
