"""The whole firm in one file, and back again, on either kind of database.

`archive`    the file: a tar of rows and media, whose last member holds the checksum of every other
`rows`       every table as JSON lines, and the lines as rows again, at the schema the database had
`making`     one backup: consistent while people work, whole or not there at all, encrypted for age if wished
`restoring`  a checked archive into an empty database; every row is read back and compared
`keeping`    which backups stay and which go
`services`   when the next one is due; what the last one was and whether it was proved

A backup is nothing until it was restored: each scheduled one is loaded into a database of its own and thrown away.
"""
