"""Generated cases in the shape of the short-horizon maintenance problem for onshore turbines.

The problem's source: Froger, Gendreau, Mendoza, Pinson, Rousseau, "Solving a wind turbine maintenance scheduling problem",
Journal of Scheduling 21 (2018). Its instances are not public; these cases are ours and share only its features: 20, 40 or 80
tasks, 2 or 4 periods a day, horizons of 10 to 40 periods, 1 or 3 skills, regular or tight crews, execution modes (more people,
fewer periods), tasks that only the night interrupts, one place a person and day (or places next to each other), a penalty for
postponing, wind limits by task, revenue lost while turbines stand.

What our problem cannot say, and how these cases differ for it:
- people form teams for a day; there people are assigned task by task;
- a task's skill is asked of as many people as its smallest mode has; there of everybody assigned;
- the people of a task may change from one day to the next; there they stay until it is finished;
- a task that goes on after a night may pause for the rest of a day (its turbine stands all the same, where it must stand).
"""
