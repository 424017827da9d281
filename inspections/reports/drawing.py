def draw_report(job):
    raise NotImplementedError
