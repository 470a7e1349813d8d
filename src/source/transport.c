#include "source/transport.h"

#include <stdlib.h>

void transport_answer_free(struct transport_answer *answer)
{
    free(answer->body);
    free(answer->held);
    *answer = (struct transport_answer){0};
}
