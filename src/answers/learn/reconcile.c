#include "answers/learn/learn.h"
ef_status efi_learn_totals(efi_learn_run *run)
{
    (void)run;
    return EF_OK;
}
