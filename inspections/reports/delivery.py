def send_link(job):
    raise NotImplementedError
