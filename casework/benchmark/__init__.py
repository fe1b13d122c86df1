"""How fast is the program here? One file for each promise; figures as ratios in one run."""
