"""The collector of doctests imports every module it meets: packages that only `[bench]` installs stay out."""

collect_ignore_glob = ["rival_sfepy.py", "sfepy_wedge.py", "rival_fipy.py", "resident.py", "table.py"]
collect_ignore_glob += ["search_efficiency.py"]  # sets the threads of the process
