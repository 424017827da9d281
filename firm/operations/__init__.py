"""How the installation is: parts, jobs, disk, backups. For the person who runs the machine."""
