"""Work done outside a request: rows are the truth, the broker only rings the bell.

`models.Job`     the abstract row: state, attempt, lease, heartbeat; claimed and finished by conditional updates
`heartbeat`      the thread that renews the lease while the work runs
`work.run_job`   claim, keep alive, do, finish or put off: what a Celery task consists of
`lines`          quick and long work wait apart, each for workers of its own
`bell.ring`      tell a worker, after the commit; a bell that is lost is rung again by
`sweep`          which also takes up the rows of workers that were killed

A concrete job is a model in the app whose work it is, and a task of four lines:

    class Rendition(Job):
        task_name = "inspections.photos.make_rendition"
        line = LONG                             # where it may take longer than some seconds

    @shared_task(name=Rendition.task_name)
    def make_rendition(pk: int) -> None:
        run_job(Rendition, pk, draw)        # draw(job) -> fields to store, or None
"""
