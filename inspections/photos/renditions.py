def make_renditions(job):
    raise NotImplementedError
