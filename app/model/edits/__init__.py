"""Every change of the shoot: pure functions that give a new one."""
