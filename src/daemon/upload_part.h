/* Uploads as a part of the daemon: what a turn has changed is sent to the web
 * host that the configuration names, one operation at a time, in a thread that
 * is given copies. What fails is tried again after one minute, two, four, at
 * most an hour. What was not sent when the daemon ended is sent when it
 * begins. */
#ifndef DAEMON_UPLOAD_PART_H
#define DAEMON_UPLOAD_PART_H

#include "daemon/loop.h"

void upload_plug(struct daemon *daemon);

#endif
